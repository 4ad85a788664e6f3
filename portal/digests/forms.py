"""What the head coach types about a week's mail."""

from __future__ import annotations

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from portal.digests.models import Preface


class PrefaceForm(forms.ModelForm):  # type: ignore[type-arg]
    is_held = forms.BooleanField(label=_("Hold it"), required=False)

    class Meta:
        model = Preface
        fields = ("opening", "is_held", "why_held")
        widgets = {"opening": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, data: QueryDict | None = None, *, preface: Preface | None) -> None:
        super().__init__(data, instance=preface)
        self.initial["is_held"] = bool(preface and preface.why_held)

    def clean(self) -> dict[str, object]:
        data = super().clean() or {}
        if not data.get("is_held"):
            data["why_held"] = ""
        elif not data.get("why_held"):
            self.add_error("why_held", _("Say why, so that others know: the mail waits for you."))
        return data
