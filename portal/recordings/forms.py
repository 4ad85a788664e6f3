"""What somebody types about sessions and stretches of film."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db.models import Case, IntegerField, When
from django.http import QueryDict
from django.utils.timezone import localdate
from django.utils.translation import gettext_lazy as _

from portal.people.access import Actor
from portal.people.models import Course, Squad, Swimmer
from portal.people.reaching import squads_of
from portal.recordings import opening, pacing
from portal.recordings.equipment import Equipment
from portal.recordings.models import Clip, Effort, Pool, Recording, Session, View
from portal.recordings.sorting import Stretch, Table, taken_up
from portal.technique.models import Stroke


class SessionForm(forms.Form):
    """A squad the actor works with, and a pool of that squad's club, written down or new."""

    squad = forms.ModelChoiceField(Squad.objects.none(), label=_("Squad"), empty_label=None)
    date = forms.DateField(
        label=_("Date"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    kind = forms.ChoiceField(label=_("Kind"), choices=Session.Kind.choices)
    pool = forms.ModelChoiceField(
        Pool.objects.none(), label=_("Pool"), required=False, empty_label=_("another pool")
    )
    new_pool = forms.CharField(label=_("Name of the other pool"), max_length=80, required=False)
    course = forms.ChoiceField(
        label=_("Course"), choices=[("", _("as the pool is")), *Course.choices], required=False
    )
    theme = forms.CharField(label=_("Theme"), max_length=80, required=False)

    def __init__(self, data: QueryDict | None, *, actor: Actor, now: datetime) -> None:
        super().__init__(data)
        squads = squads_of(actor)
        self.fields["squad"].queryset = squads  # type: ignore[attr-defined]
        self.fields["pool"].queryset = Pool.objects.filter(  # type: ignore[attr-defined]
            club__in=squads.values("club")
        )
        if data is None and (usual := squads.first()):
            self.initial["date"] = localdate(now, ZoneInfo(usual.club.zone))
            self.initial["pool"] = usual.club.pools.first()

    def full_clean(self) -> None:
        super().full_clean()
        for name in self.fields:
            if name in self.errors:
                self.fields[name].widget.attrs["autofocus"] = True
                break

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        squad, pool, name = data.get("squad"), data.get("pool"), data.get("new_pool")
        if pool and name:
            self.add_error("new_pool", _("Either choose a pool or write the name of another one."))
        elif not pool and not name:
            self.add_error("pool", _("Choose a pool, or write the name of another one."))
        elif pool and squad and pool.club_id != squad.club_id:
            self.add_error("pool", _("This pool belongs to another club than the squad."))
        return data

    def plan(self) -> opening.Plan:
        """Writes the new pool down, if there is one."""
        data = self.cleaned_data
        squad, course = data["squad"], data["course"]
        return opening.Plan(
            squad=squad,
            pool=data["pool"]
            or opening.pool_called(data["new_pool"], club=squad.club, course=course),
            kind=data["kind"],
            date=data["date"],
            course=course,
            theme=data["theme"],
        )


class AmendForm(SessionForm):
    """The same about a session that is there; its squad stays."""

    field_order = ("date", "kind", "theme", "pool", "new_pool", "course")

    def __init__(
        self, data: QueryDict | None, *, session: Session, actor: Actor, now: datetime
    ) -> None:
        super().__init__(data, actor=actor, now=now)
        self.fields["squad"].disabled = True
        of_session = ("squad", "date", "kind", "pool", "course", "theme")
        self.initial = {name: getattr(session, name) for name in of_session}
        pools = Pool.objects.filter(club=session.squad.club_id)
        self.fields["pool"].queryset = pools  # type: ignore[attr-defined]


CHOICES = ("stroke", "view", "effort", "equipment")


class CutForm(forms.Form):
    """A stretch of a recording and whom it shows, in the recording's own frame numbers."""

    first_frame = forms.IntegerField(label=_("In"), min_value=0)
    last_frame = forms.IntegerField(label=_("Out"), min_value=1)
    swimmers = forms.ModelMultipleChoiceField(
        Swimmer.objects.none(),
        label=_("Swimmer"),
        widget=forms.CheckboxSelectMultiple,
        to_field_name="code",
    )
    stroke = forms.ChoiceField(label=_("Stroke"), choices=Stroke.choices, widget=forms.RadioSelect)
    view = forms.ChoiceField(label=_("View"), choices=View.choices, widget=forms.RadioSelect)
    effort = forms.ChoiceField(label=_("Effort"), choices=Effort.choices, widget=forms.RadioSelect)
    equipment = forms.ChoiceField(
        label=_("Equipment"), choices=Equipment.choices, widget=forms.RadioSelect
    )

    instead_of = forms.ModelChoiceField(
        Clip.objects.none(),
        to_field_name="code",
        required=False,
        widget=forms.HiddenInput,
        error_messages={
            "invalid_choice": _("Somebody else has just changed this clip. Look what is there now.")
        },
    )

    def __init__(
        self, data: QueryDict | None, *, table: Table, again: Stretch | None = None
    ) -> None:
        """`again`: a kept clip for which another is cut."""
        offer = taken_up(again) if again else table.next_stretch()
        super().__init__(data, initial=None if data else offer)
        self.fields["instead_of"].queryset = table.recording.clips.kept()  # type: ignore[attr-defined]
        offered = [swimmer.id for swimmer in table.roster.may_be_filmed]
        swimmers = self.fields["swimmers"]
        # Their numbers on the page are those of the film list.
        places = [When(id=pk, then=place) for place, pk in enumerate(offered)]
        order = Case(*places, default=len(offered), output_field=IntegerField())
        swimmers.queryset = Swimmer.objects.filter(id__in=offered).order_by(order)  # type: ignore[attr-defined]
        swimmers.error_messages["required"] = _("Say who swims here.")
        for name in CHOICES:
            self.fields[name].error_messages["required"] = _("Choose one.")
        for name in ("first_frame", "last_frame"):
            self.fields[name].error_messages["required"] = _("Mark a frame.")
            self.fields[name].widget.attrs["max"] = table.copy.frame_count - 1

    @property
    def said(self) -> list[str]:
        """The fields that a clip is cut by."""
        return [name for name in self.fields if name != "instead_of"]

    @property
    def marks(self) -> list[forms.BoundField]:
        return [self["first_frame"], self["last_frame"]]

    @property
    def choices(self) -> list[forms.BoundField]:
        return [self[name] for name in CHOICES]


class PassForm(forms.Form):
    """A guess, by the frame it begins with."""

    first_frame = forms.IntegerField(min_value=0)


class PaceForm(forms.Form):
    """Frames a second while a film was taken."""

    filmed_rate = forms.FloatField(
        label=_("Frames a second while filming"),
        min_value=pacing.LEAST_RATE,
        max_value=pacing.MOST_RATE,
        localize=False,
        error_messages={
            "required": _("Say at how many frames a second it was filmed."),
            "invalid": _("That is no number. Write frames a second, such as 240."),
        },
    )


class RecutForm(forms.Form):
    """What becomes of a kept clip at a frame of its recording."""

    act = forms.ChoiceField(
        choices=[
            ("split", _("Split here")),
            ("begin", _("Begin here")),
            ("end", _("End here")),
            ("join", _("Join with the next")),
        ]
    )
    frame = forms.IntegerField(min_value=0)


class TakeBackForm(forms.Form):
    """As a `sorting.Undo` says it."""

    made = forms.ModelMultipleChoiceField(Clip.objects.none(), to_field_name="code", required=False)
    removed = forms.ModelMultipleChoiceField(
        Clip.objects.none(), to_field_name="code", required=False
    )
    passed_over = forms.IntegerField(min_value=0, required=False)

    def __init__(self, data: QueryDict, *, recording: Recording) -> None:
        super().__init__(data)
        for name in ("made", "removed"):
            clips = self.fields[name]
            clips.queryset = recording.clips.all()  # type: ignore[attr-defined]
