"""What the pages of a session show, each list in a fixed number of queries."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from django.db.models import Count, Q, QuerySet
from django.template.defaultfilters import floatformat
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.jobs.models import Job
from portal.people.access import Actor
from portal.people.consenting import allowed, withheld
from portal.people.models import Consent, SquadPlace, Swimmer
from portal.recordings import pacing
from portal.recordings.equipment import Equipment
from portal.recordings.models import Clip, Effort, Recording, Session, View
from portal.technique.models import Stroke

BEADS = 24
# Below this share nobody can say how long the rest will take.
LEAST_TOLD = 0.05


def sessions(actor: Actor) -> QuerySet[Session]:
    """With counts: `takes`, `cuts` and `out`, the swimmers whose families see a clip of it."""
    kept = Q(recordings__thrown_away_at=None)
    return (
        Session.objects.visible_to(actor)
        .select_related("squad", "pool")
        .annotate(
            takes=Count("recordings", filter=kept, distinct=True),
            cuts=Count(
                "recordings__clips",
                filter=kept & Q(recordings__clips__removed_at=None),
                distinct=True,
            ),
            out=Count("recordings__clips__showings__swimmer", distinct=True),
        )
        .order_by("-date", "-id")
    )


@dataclass(frozen=True)
class Roster:
    """The squad on the session's day, in the order of their numbers: that of the film list, then
    by name."""

    may_be_filmed: list[Swimmer]
    without_consent: list[Swimmer]


def roster(session: Session) -> Roster:
    """Two queries."""
    numbers = {swimmer: number for number, swimmer in enumerate(session.film_order)}
    everyone = sorted(_squad_of(session), key=lambda one: numbers.get(one.id, len(numbers)))
    yes = allowed(Consent.Purpose.FILM, of=everyone, on=session.date)
    return Roster(
        may_be_filmed=[swimmer for swimmer in everyone if swimmer.id in yes],
        without_consent=[swimmer for swimmer in everyone if swimmer.id not in yes],
    )


def may_be_filmed(session: Session) -> list[Swimmer]:
    """The same first half of the roster, where nobody asks for the second. One query."""
    return list(_squad_of(session).exclude(id__in=withheld(Consent.Purpose.FILM, on=session.date)))


def _squad_of(session: Session) -> QuerySet[Swimmer]:
    places = SquadPlace.objects.filter(squad=session.squad_id).on(session.date)
    return Swimmer.objects.filter(id__in=places.values("swimmer"))


@dataclass(frozen=True)
class Take:
    """A recording as a page shows it: with the job that makes it ready and what was cut."""

    recording: Recording
    job: Job | None
    clip_count: int
    is_next: bool = False
    """The first of its list that can be sorted and is not begun."""
    is_shut: bool = False
    """Its pictures are shown to nobody of the squad's staff at the moment."""
    at: datetime | None = None
    """The moment of the page, from which time left is told."""

    @property
    def state(self) -> Recording.State:
        """A recording whose job gave up or was never begun waits for nothing: it has failed."""
        is_waiting = self.recording.state == Recording.State.WAITING
        is_stuck = self.job is None or self.job.state == Job.State.FAILED
        if is_waiting and is_stuck:
            return Recording.State.FAILED
        return Recording.State(self.recording.state)

    @property
    def may_be_tried_again(self) -> bool:
        """Not when the film itself is of no use, for it will be none tomorrow either."""
        is_useless = self.recording.state == Recording.State.FAILED
        return self.state == Recording.State.FAILED and not is_useless

    @property
    def problem(self) -> str:
        return self.recording.problem or (self.job.problem if self.job else "")

    @property
    def length(self) -> str:
        return length(self.recording)

    @property
    def pace(self) -> str:
        return pace(self.recording)

    @property
    def percent(self) -> int:
        return round(100 * self.job.progress) if self.job else 0

    def seconds_left(self, *, at: datetime) -> float | None:
        """As fast as it went so far; None while too little is done to tell."""
        job = self.job
        if job is None or job.began_at is None or job.state != Job.State.RUNNING:
            return None
        if job.progress < LEAST_TOLD:
            return None
        passed = (at - job.began_at).total_seconds()
        return max(0.0, passed * (1 - job.progress) / job.progress)

    @property
    def stage(self) -> str:
        """How far it is, in words."""
        if self.job is None or self.job.state != Job.State.RUNNING:
            return _("Being made ready as soon as it is its turn. You may leave.")
        share = _("Being made ready, %(share)d of 100") % {"share": self.percent}
        left = None if self.at is None else self.seconds_left(at=self.at)
        if left is None:
            return _("%(share)s. You may leave.") % {"share": share}
        return _("%(share)s, %(left)s. You may leave.") % {"share": share, "left": roughly(left)}

    @property
    def beads(self) -> list[bool]:
        filled = round(BEADS * self.percent / 100)
        return [place < filled for place in range(BEADS)]


def roughly(seconds: float) -> str:
    """Time left, told no finer than anybody can know it."""
    if seconds < 45:
        return _("less than a minute left")
    minutes = max(1, round(seconds / 60))
    return ngettext("about %(n)d minute left", "about %(n)d minutes left", minutes) % {"n": minutes}


def length(recording: Recording) -> str:
    """How long it runs, as 6:42."""
    minutes, seconds = divmod(round(recording.facts.get("duration", 0)), 60)
    return f"{minutes}:{seconds:02d}"


def pace(recording: Recording) -> str:
    """How its frames follow each other; a rate would be wrong of an uneven film."""
    if recording.facts.get("is_variable"):
        plays = _("frames of uneven length")
    else:
        rate = floatformat(recording.facts.get("rate"))
        plays = _("%(rate)s frames a second") % {"rate": rate}
    if not pacing.is_slowed(recording):
        return plays
    filmed = floatformat(recording.filmed_rate)
    return _("%(plays)s, filmed at %(filmed)s") % {"plays": plays, "filmed": filmed}


def job_key(recording: Recording) -> str:
    return f"prepare:{recording.code}"


def takes(
    recordings: Iterable[Recording],
    *,
    clips: Mapping[int, int] | None = None,
    shut: Collection[int] = (),
    at: datetime | None = None,
) -> list[Take]:
    """One query beside that of the recordings, and one more as long as some are not ready.

    Whoever knows how many clips each recording has, by its id, saves the first. `shut` are the ids
    of those whose pictures may not be seen.
    """
    rows = list(recordings)
    cuts = clip_counts(rows) if clips is None else clips
    # A recording that is ready has no more to do with its job.
    keys = [job_key(row) for row in rows if row.state != Recording.State.READY]
    jobs = {job.key: job for job in Job.objects.filter(key__in=keys)} if keys else {}
    uncut = (row for row in rows if row.state == Recording.State.READY and not cuts.get(row.pk))
    first = next(uncut, None)
    return [
        Take(
            row,
            jobs.get(job_key(row)),
            cuts.get(row.pk, 0),
            is_next=row == first,
            is_shut=row.pk in shut,
            at=at,
        )
        for row in rows
    ]


def clip_counts(recordings: Collection[Recording]) -> dict[int, int]:
    counted = Clip.objects.kept().filter(recording__in=recordings)
    return dict(counted.order_by().values_list("recording").annotate(Count("id")))


class Cut(NamedTuple):
    """A clip as a line of a list. Not a model: a page has very many."""

    recording: int
    code: UUID
    stroke: str
    view: str
    effort: str
    equipment: str
    hidden_at: datetime | None

    @property
    def swum(self) -> str:
        words = [Stroke(self.stroke).label, Effort(self.effort).label]
        if self.equipment != Equipment.NONE:
            words.append(Equipment(self.equipment).label)
        return ", ".join(map(str, words))

    @property
    def view_word(self) -> str:
        return str(View(self.view).label)


@dataclass(frozen=True)
class Filmed:
    """What was cut out of a session's film."""

    cuts: dict[int, list[Cut]]
    """By the swimmer's id, in the film's order."""
    out: set[int]
    """Ids of the swimmers whose families see one of them."""
    counts: Counter[int]
    """How many there are, by the recording's id."""


def filmed(session: Session) -> Filmed:
    """One query: a row for each swimmer of each clip and each family that sees it."""
    rows = Clip.objects.kept().filter(recording__session=session)
    everything, out = set(), set()
    cuts: dict[int, list[Cut]] = defaultdict(list)
    for swimmer, shown, *columns in rows.order_by("recording", "first_frame", "id").values_list(
        "swimmers", "showings__swimmer", *Cut._fields
    ):
        cut = Cut._make(columns)
        everything.add(cut)
        if shown:
            out.add(shown)
        # Each family that sees a clip repeats its row.
        if swimmer and cut not in cuts[swimmer]:
            cuts[swimmer].append(cut)
    return Filmed(cuts, out, Counter(cut.recording for cut in everything))


@dataclass(frozen=True)
class Flag:
    """A swimmer on the session's line, with the clips that show them in the film's order."""

    swimmer: Swimmer
    clips: list[Cut]
    is_out: bool
    """A family sees one of them."""

    @property
    def state(self) -> str:
        """The class of its cloth."""
        if self.is_out:
            return "out"
        return "draft" if self.clips else "none"


def flags(roster: Roster, filmed: Filmed) -> list[Flag]:
    """One for everybody who may be filmed or was. One query if somebody left the squad's list
    after they were filmed, else none."""
    known = {swimmer.id: swimmer for swimmer in roster.may_be_filmed + roster.without_consent}
    gone = [swimmer for swimmer in filmed.cuts if swimmer not in known]
    if gone:
        known |= Swimmer.objects.in_bulk(gone)
    shown = [swimmer.id for swimmer in roster.may_be_filmed]
    # In the film's order, behind those who may be filmed.
    shown += [swimmer for swimmer in filmed.cuts if swimmer not in shown]
    return [Flag(known[pk], filmed.cuts.get(pk, []), pk in filmed.out) for pk in shown]
