"""What the pages about people ask. Errors say what happened and what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from portal.people.models import Club, Consent, User
from portal.people.questions import Question

YES_NO = [("yes", _("Yes")), ("no", _("No"))]


class QuestionsForm(forms.Form):
    """Nothing is chosen beforehand but what the same person said before."""

    def __init__(
        self,
        questions: Sequence[Question],
        data: Mapping[str, Any] | None = None,
        *,
        said: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(said or {}))
        self.questions = questions
        for question in questions:
            self.fields[question.field] = forms.ChoiceField(
                choices=YES_NO,
                widget=forms.RadioSelect,
                error_messages={"required": _("Please choose yes or no here.")},
            )

    @property
    def asked(self) -> list[tuple[Question, forms.BoundField, str]]:
        """Each with its field and the answer it stands at."""
        rows = []
        for question in self.questions:
            field = self[question.field]
            rows.append((question, field, field.value() or ""))
        return rows

    @property
    def missing(self) -> list[tuple[int, Question]]:
        numbered = enumerate(self.questions, 1)
        return [(number, q) for number, q in numbered if self.is_bound and q.field in self.errors]

    def answers(self) -> dict[Consent.Purpose, bool]:
        given = self.cleaned_data
        return {q.purpose: given[q.field] == "yes" for q in self.questions}


class PolicyForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Club
        fields = ("policy", "policy_edition", "policy_reviewed_on")
        widgets = {
            "policy": forms.Textarea(attrs={"rows": 14}),
            "policy_reviewed_on": forms.DateInput(attrs={"type": "date"}),
        }

    def __init__(self, data: Mapping[str, Any] | None = None, *, instance: Club) -> None:
        super().__init__(data, instance=instance)
        missing = {
            "policy": _("The policy is missing. Say in your own words what families agree to."),
            "policy_edition": _("Name the edition, such as “autumn 2026”."),
            "policy_reviewed_on": _("Say on which day the club last went through it."),
        }
        for name, message in missing.items():
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = message


class RecordForm(forms.Form):
    """An answer that reached the club on paper or, if it is a no, by word of mouth."""

    guardian = forms.ModelChoiceField(
        queryset=User.objects.none(), label=_("Who answers"), to_field_name="code"
    )
    purpose = forms.ChoiceField(label=_("The question"), choices=Consent.Purpose.choices)
    answer = forms.ChoiceField(label=_("The answer"), choices=YES_NO, widget=forms.RadioSelect)
    way = forms.ChoiceField(
        label=_("How it reached the club"),
        choices=[("paper", _("on a signed form")), ("told", _("told to me: only a no counts"))],
        widget=forms.RadioSelect,
    )
    signed_on = forms.DateField(
        label=_("Date on the form"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
    )

    def __init__(self, answering: Sequence[User], data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        choice = self.fields["guardian"]
        choice.queryset = User.objects.filter(pk__in=[user.pk for user in answering])  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("way") == "paper" and not given.get("signed_on"):
            self.add_error("signed_on", _("Type the date that stands on the form."))
        return given
