"""What a coach types about a meet, its entries and an official's slip."""

from __future__ import annotations

from collections.abc import Sequence

from django import forms
from django.db.models import Q
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from portal.meets.models import Disqualification, Entry, Meet
from portal.people.access import Actor
from portal.people.models import Club, Swimmer
from portal.technique.models import Rule


class MeetForm(forms.ModelForm):  # type: ignore[type-arg]
    """A meet of a club in which this person leads a squad."""

    class Meta:
        model = Meet
        fields = ("club", "name", "starts", "ends")
        widgets = {
            name: forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
            for name in ("starts", "ends")
        }

    def __init__(self, data: QueryDict | None = None, *, actor: Actor) -> None:
        super().__init__(data)
        clubs = Club.objects.filter(Q(pk__in=actor.heads) | Q(squads__in=actor.coaches)).distinct()
        self.clubs = list(clubs)
        self.fields["club"] = forms.ModelChoiceField(clubs, label=_("Club"), empty_label=None)
        if len(self.clubs) == 1:
            self.initial["club"] = self.clubs[0]
            self.fields["club"].widget = forms.HiddenInput()

    def clean(self) -> dict[str, object]:
        data = super().clean() or {}
        starts, ends = data.get("starts"), data.get("ends")
        if starts and ends and ends < starts:
            self.add_error("ends", _("The last day is not before the first one."))
        return data


class EntryForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Entry
        fields = ("swimmer", "distance", "stroke", "is_relay")

    def __init__(self, data: QueryDict | None = None, *, swimmers: Sequence[Swimmer]) -> None:
        super().__init__(data)
        there = Swimmer.objects.filter(pk__in=[swimmer.pk for swimmer in swimmers])
        self.fields["swimmer"] = forms.ModelChoiceField(there, label=_("Swimmer"))


class PasteForm(forms.Form):
    pasted = forms.CharField(
        label=_("Paste a list"),
        max_length=100_000,
        widget=forms.Textarea(
            attrs={"rows": 6, "placeholder": _("Name; 100 breast; 200 IM"), "spellcheck": "false"}
        ),
    )


class SlipForm(forms.ModelForm):  # type: ignore[type-arg]
    """What the official said, by the catalogue's rule or in the slip's words."""

    class Meta:
        model = Disqualification
        fields = ("rule", "words")

    def __init__(self, data: QueryDict | None = None, *, entry: Entry) -> None:
        super().__init__(data, instance=Disqualification(entry=entry), auto_id=f"%s-{entry.code}")
        rules = Rule.objects.current()
        strokes = Q()
        for stroke in (*entry.strokes, "any"):
            strokes |= Q(strokes__contains=f" {stroke} ")
        self.fields["rule"].queryset = rules.filter(strokes)  # type: ignore[attr-defined]
        self.fields["rule"].empty_label = _("another rule, or not known")  # type: ignore[attr-defined]

    def clean(self) -> dict[str, object]:
        data = super().clean() or {}
        if not data.get("rule") and not data.get("words"):
            self.add_error("words", _("Choose the rule, or copy what the slip says."))
        return data
