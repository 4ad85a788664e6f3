"""What the door asks. Errors say what happened and what to do."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class SignInForm(forms.Form):
    email = forms.EmailField(
        label=_("E-mail"),
        max_length=254,
        error_messages={
            "required": _("The address is missing. Type the one your club has for you."),
            "invalid": _("This is not a whole address. It looks like name@example.org."),
        },
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=256,
        strip=False,
        error_messages={"required": _("The password is missing. Type it here.")},
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PickForm(forms.Form):
    code = forms.UUIDField()
