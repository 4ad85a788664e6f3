"""What may be said below notes."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from portal.replies.models import LONGEST, Reply


class SayForm(forms.Form):
    """Of the family: one of two buttons, and with the second a question if they like."""

    kind = forms.ChoiceField(
        choices=[(kind.value, kind.label) for kind in (Reply.Kind.GOT_IT, Reply.Kind.SHOW_ME)],
        error_messages={
            "required": _("Press one of the two buttons."),
            "invalid_choice": _("Press one of the two buttons."),
        },
    )
    words = forms.CharField(max_length=LONGEST, required=False)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = self.cleaned_data
        if given.get("kind") == Reply.Kind.GOT_IT:
            given["words"] = ""
        return given


class AnswerForm(forms.Form):
    """Of a coach: words, or only that they have seen it."""

    act = forms.ChoiceField(choices=[("answer", ""), ("seen", "")])
    words = forms.CharField(max_length=LONGEST, required=False)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = self.cleaned_data
        is_answer = given.get("act") == "answer"
        if is_answer and not given.get("words") and "words" not in self.errors:
            self.add_error("words", _("Write your answer first."))
        return given
