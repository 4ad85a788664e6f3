"""What a coach types about a practice and its lanes."""

from __future__ import annotations

from datetime import timedelta

from django import forms
from django.db.models import Q
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from portal.people.access import Actor
from portal.people.models import Squad
from portal.people.reaching import squads_of
from portal.planning.models import MOST_LANES, MOST_SEATS, Lane, Plan
from portal.planning.proposing import Practice


def led_by(actor: Actor) -> Q:
    return Q(pk__in=actor.coaches) | Q(club__in=actor.heads)


class PracticeForm(forms.ModelForm):  # type: ignore[type-arg]
    """A practice of a squad that this person leads."""

    class Meta:
        model = Plan
        fields = ("squad", "date", "starts", "minutes", "stroke", "lane_count", "seats")
        widgets = {
            "date": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "starts": forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
            "minutes": forms.NumberInput(attrs={"inputmode": "numeric", "min": 5, "max": 300}),
            "lane_count": forms.NumberInput(attrs={"min": 1, "max": MOST_LANES}),
            "seats": forms.NumberInput(attrs={"min": 1, "max": MOST_SEATS}),
        }

    def __init__(self, data: QueryDict | None, *, actor: Actor) -> None:
        super().__init__(data)
        squads = squads_of(actor).filter(led_by(actor))
        self.fields["squad"] = forms.ModelChoiceField(squads, label=_("Squad"), empty_label=None)
        self.fields["stroke"].choices = [  # type: ignore[attr-defined]
            ("", _("all strokes")),
            *self.fields["stroke"].choices[1:],  # type: ignore[attr-defined]
        ]
        self.initial["date"] = actor.today + timedelta(days=1)

    def validate_unique(self) -> None:
        """A second plan for a day is no mistake: it leads to the first."""

    def practice(self) -> Practice:
        data = self.cleaned_data
        return Practice(
            squad=data["squad"],
            date=data["date"],
            lanes=data["lane_count"],
            seats=data["seats"],
            stroke=data["stroke"],
            starts=data["starts"],
            minutes=data["minutes"],
        )

    def squads(self) -> list[Squad]:
        return list(self.fields["squad"].queryset)  # type: ignore[attr-defined]


class LaneForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Lane
        fields = ("title", "dose")

    def __init__(self, data: QueryDict | None = None, *, lane: Lane) -> None:
        super().__init__(data, instance=lane, auto_id=f"%s-{lane.code}")
        if lane.checkpoint:
            self.fields["title"].widget.attrs["placeholder"] = lane.checkpoint.name
