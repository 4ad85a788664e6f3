"""What the door asks. Errors say what happened and what to do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from allauth.account.forms import ConfirmLoginCodeForm, RequestLoginCodeForm
from allauth.core import context
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.utils.translation import gettext_lazy as _

from portal.doorway import entering
from portal.people.models import User

TOO_MANY = _("Too many tries. Wait 15 minutes, then try again. Your account is safe.")


class AskForCodeForm(RequestLoginCodeForm):
    """For an address that nobody has, the page goes on as for any other."""

    email = forms.EmailField(
        label=_("E-mail"),
        max_length=254,
        error_messages={
            "required": _("The address is missing. Type the one your club has for you."),
            "invalid": _("This is not a whole address. It looks like name@example.org."),
        },
        widget=forms.EmailInput(attrs={"autocomplete": "username webauthn"}),
    )

    def clean_email(self) -> str:
        email: str = super().clean_email()
        if not entering.may_try(context.request, email):
            raise forms.ValidationError(TOO_MANY, code="too many")
        return email.lower()


class TypeCodeForm(ConfirmLoginCodeForm):
    code = forms.CharField(
        label=_("Code"),
        max_length=20,
        help_text=_("Capitals or small letters, with the dash or without."),
        error_messages={"required": _("The code is missing. It has eight letters.")},
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "autocapitalize": "characters",
                "spellcheck": "false",
            }
        ),
    )


def _code_field(label: Any, missing: Any) -> forms.CharField:  # noqa: ANN401 - lazy words
    return forms.CharField(
        label=label,
        max_length=20,
        error_messages={"required": missing},
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "spellcheck": "false"}),
    )


class SecondStepForm(AuthenticateForm):
    code = _code_field(
        _("Code of your app, or a recovery code"),
        _("The code is missing. Your app shows six digits; a recovery code has eight."),
    )


class AddAppForm(ActivateTOTPForm):
    code = _code_field(
        _("The code that the app shows"),
        _("The code is missing. Once it knows the secret, your app shows six digits."),
    )


class PasswordForm(forms.Form):
    password = forms.CharField(
        label=_("New password"),
        max_length=256,
        strip=False,
        help_text=_("At least 15 characters. Four or five words that do not belong together."),
        error_messages={"required": _("The password is missing. Type it here.")},
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, user: User, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        self.user = user

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password, self.user)
        return password


class AddressForm(forms.Form):
    email = forms.EmailField(
        label=_("New e-mail address"),
        max_length=254,
        error_messages={
            "required": _("The address is missing. Type the one you want to sign in with."),
            "invalid": _("This is not a whole address. It looks like name@example.org."),
        },
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )

    def __init__(self, user: User, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        self.user = user

    def clean_email(self) -> str:
        email: str = self.cleaned_data["email"].lower()
        if email == self.user.email:
            raise forms.ValidationError(_("This is the address that you have. Type another."))
        return email


class AddressCodeForm(forms.Form):
    code = TypeCodeForm.base_fields["code"]


class SignInForm(forms.Form):
    email = AskForCodeForm.base_fields["email"]
    password = forms.CharField(
        label=_("Password"),
        max_length=256,
        strip=False,
        error_messages={"required": _("The password is missing. Type it here.")},
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PickForm(forms.Form):
    code = forms.UUIDField()
