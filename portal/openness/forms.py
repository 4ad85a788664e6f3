"""What is typed on these pages."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from portal.audit.models import Entry
from portal.openness.models import WORDS, Case
from portal.people.models import Club

REASON = 2000


class ConcernForm(forms.Form):
    """Short, so that a child or a shaken parent gets through it."""

    # The browser sends it back: the same concern sent twice is one.
    code = forms.UUIDField(widget=forms.HiddenInput)
    subject = forms.ChoiceField(
        label=_("What is it about?"),
        choices=Case.Subject.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose one of the two; either is fine if you are unsure.")},
    )
    words = forms.CharField(
        label=_("What happened, or what worries you?"),
        max_length=WORDS,
        widget=forms.Textarea(attrs={"rows": 7}),
        error_messages={"required": _("Write a few words, however short.")},
    )
    about = forms.CharField(label=_("Whom is it about?"), max_length=200, required=False)
    may_answer = forms.BooleanField(label=_("You may write to me about it"), required=False)
    about_officer = forms.BooleanField(label=_("It is about the welfare officer"), required=False)

    def __init__(self, data: Any = None, *, clubs: QuerySet[Club], has_second: bool) -> None:  # noqa: ANN401 - whatever a form takes
        super().__init__(data, initial={"code": uuid.uuid4(), "may_answer": True})
        self.only_club = clubs[0] if len(clubs) == 1 else None
        if self.only_club is None:
            self.fields["club"] = forms.ModelChoiceField(
                clubs, label=_("In which club?"), empty_label=None, to_field_name="code"
            )
        if not has_second:
            del self.fields["about_officer"]


class NoteForm(forms.Form):
    words = forms.CharField(
        label=_("Note"), max_length=REASON, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )
    state = forms.ChoiceField(label=_("State"), choices=Case.State.choices)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not given.get("words") and given.get("state") == self.initial.get("state"):
            raise forms.ValidationError(_("Write a note, or choose another state."))
        return given


class ReasonForm(forms.Form):
    """A measure and its reason, which is kept in a case."""

    words = forms.CharField(
        label=_("Reason"),
        max_length=REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": _("Say why. It is kept in the case and told to nobody.")},
    )

    def __init__(self, data: Any = None, *, cases: QuerySet[Case], case: str = "") -> None:  # noqa: ANN401 - whatever a form takes
        super().__init__(data)
        self.fields["case"] = forms.ModelChoiceField(
            cases,
            label=_("Case"),
            required=False,
            empty_label=_("a new case of my own"),
            to_field_name="code",
            initial=case,
        )


class LookForm(forms.Form):
    MINUTES = ((15, _("15 minutes")), (30, _("30 minutes")), (60, _("60 minutes")))

    reason = forms.CharField(
        label=_("Reason"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("The head coach and the welfare officer read it at once."),
        error_messages={"required": _("Say why. Without a reason no film opens.")},
    )
    minutes = forms.TypedChoiceField(label=_("For how long"), choices=MINUTES, coerce=int)

    def __init__(self, data: Any = None, *, clubs: QuerySet[Club]) -> None:  # noqa: ANN401 - whatever a form takes
        super().__init__(data)
        self.fields["club"] = forms.ModelChoiceField(
            clubs, label=_("Club"), empty_label=None, to_field_name="code"
        )


class RecordForm(forms.Form):
    """What somebody looks for in the record. Something that is not on offer finds nothing."""

    action = forms.ChoiceField(
        label=_("Did"), choices=[("", _("anything")), *Entry.Action.choices], required=False
    )
    day = forms.DateField(
        label=_("Day"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    of = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        data: Any,  # noqa: ANN401 - whatever a form takes
        *,
        people: Sequence[tuple[str, str]],
        swimmers: Sequence[tuple[str, str]],
        kinds: Sequence[tuple[str, str]],
    ) -> None:
        super().__init__(data)
        for name, label, offered, none in (
            ("person", _("Person"), people, _("anybody")),
            ("swimmer", _("Swimmer"), swimmers, _("any")),
            ("kind", _("What"), kinds, _("anything")),
        ):
            choices = [("", none), *offered]
            self.fields[name] = forms.ChoiceField(label=label, required=False, choices=choices)


class SeekForm(forms.Form):
    q = forms.CharField(label=_("Name"), max_length=60, required=False)
