"""What the pages about people ask. Errors say what happened and what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from portal.people.models import Club, Consent, User
from portal.people.questions import Answered, Question

YES_NO = [("yes", _("Yes")), ("no", _("No"))]


@dataclass(frozen=True)
class Asked:
    """A question on the page, and the answer at which it stands there."""

    before: Answered
    field: forms.BoundField
    number: int

    @property
    def question(self) -> Question:
        return self.before.question

    @property
    def said(self) -> str:
        return self.field.value() or ""

    @property
    def is_missing(self) -> bool:
        return bool(self.field.errors)


class QuestionsForm(forms.Form):
    """Nothing is chosen beforehand but what the same person said before."""

    edition = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        before: Sequence[Answered],
        data: Mapping[str, Any] | None = None,
        *,
        edition: str,
    ) -> None:
        said = {each.question.field: each.word for each in before}
        super().__init__(data, initial={**said, "edition": edition})
        self.before = before
        self.current_edition = edition
        for each in before:
            self.fields[each.question.field] = forms.ChoiceField(
                choices=YES_NO,
                widget=forms.RadioSelect,
                error_messages={"required": _("Please choose yes or no here.")},
            )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("edition", "") != self.current_edition:
            self.add_error(None, _("The club’s policy was changed meanwhile. Read it once more."))
            # Otherwise the next try would speak of the old edition again.
            self.data = {**self.data.dict(), "edition": self.current_edition}  # type: ignore[attr-defined]
        return given

    @property
    def asked(self) -> list[Asked]:
        numbered = enumerate(self.before, 1)
        return [Asked(each, self[each.question.field], number) for number, each in numbered]

    @property
    def missing(self) -> list[Asked]:
        return [each for each in self.asked if self.is_bound and each.is_missing]

    def answers(self) -> dict[Consent.Purpose, bool]:
        given = self.cleaned_data
        questions = [each.question for each in self.before]
        return {question.purpose: given[question.field] == "yes" for question in questions}


class PolicyForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Club
        fields = ("policy", "policy_edition", "policy_reviewed_on")
        widgets = {
            "policy": forms.Textarea(attrs={"rows": 14}),
            "policy_reviewed_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
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
        self._was = (instance.policy, instance.policy_edition)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        policy, edition = self._was
        is_other = bool(policy) and given.get("policy", policy).split() != policy.split()
        if is_other and given.get("policy_edition") == edition:
            message = _(
                "The words are new, and families said yes to the old ones. Name a new edition."
            )
            self.add_error("policy_edition", message)
        return given


class RecordForm(forms.Form):
    """An answer that reached the club on paper or, if it is a no, by word of mouth."""

    guardian = forms.ChoiceField(label=_("Who answers"))
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

    def __init__(
        self, answering: Mapping[User, str], data: Mapping[str, Any] | None = None
    ) -> None:
        """`answering`: who may answer today, and how the club calls them."""
        super().__init__(data)
        self._answering = {str(user.code): user for user in answering}
        names = [(str(user.code), name) for user, name in answering.items()]
        self.fields["guardian"].choices = [("", _("choose")), *names]  # type: ignore[attr-defined]

    @property
    def by(self) -> User:
        return self._answering[self.cleaned_data["guardian"]]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("way") == "paper" and not given.get("signed_on"):
            self.add_error("signed_on", _("Type the date that stands on the form."))
        return given
