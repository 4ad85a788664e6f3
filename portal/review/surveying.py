"""How the evening stands: the latest session with film, one flag a swimmer."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items.models import Verdict
from portal.people.access import Actor
from portal.people.accounts import short_name
from portal.people.models import Swimmer
from portal.recordings import listing
from portal.recordings.listing import Take
from portal.recordings.models import Clip, Recording, Session
from portal.review.gathering import Tally, cuts, flag_of, tallies, word_of
from portal.review.models import Review

DAYS_A_WEEK = 7
# What waits longer than this is no longer an evening's work; its session page still shows it.
LEFT_FOR = timedelta(days=42)
# The order on the line: what is done hangs first.
ORDER = ["out", "checked", "draft", "none", "to sort"]


@dataclass(frozen=True)
class Row:
    """A swimmer of the session. `clip` is the one to go on with, None while it is to be sorted."""

    swimmer: Swimmer
    flag: str
    review: Tally | None = None
    clip: Clip | None = None
    floats: list[bool] = field(default_factory=list)
    """One for each clip: whether something is said on it."""
    said: Counter[str] = field(default_factory=Counter)
    authors: list[str] = field(default_factory=list)

    @property
    def signs(self) -> list[tuple[str, int]]:
        """How often each verdict was said, in the order of the verdicts."""
        return [(verdict, self.said[verdict]) for verdict in Verdict.values if self.said[verdict]]

    @property
    def cloth(self) -> str:
        """The class of the flag: what waits to be sorted hangs like what is not begun."""
        return "none" if self.flag == "to sort" else self.flag

    @property
    def word(self) -> str:
        return word_of(self.flag, self.review)

    @property
    def is_mine_to_do(self) -> bool:
        """For an assistant: neither checked nor with a coach already."""
        return self.flag != "checked" and not (self.review and self.review.is_handed)

    @property
    def looked_at(self) -> int:
        return sum(self.floats)


@dataclass(frozen=True)
class Left:
    """A swimmer of an earlier session whose notes are not out. `clip` is one to go on with."""

    day: date
    swimmer: str
    clip: UUID


@dataclass(frozen=True)
class Evening:
    session: Session
    rows: list[Row]
    uncut: list[Take]
    """Recordings of which nothing is cut yet, those that failed among them."""
    left: list[Left]

    @property
    def to_sort(self) -> list[Take]:
        """Those that can be sorted now or soon."""
        return sortable(self.uncut)

    @property
    def failed(self) -> int:
        return len(self.uncut) - len(self.to_sort)

    @property
    def to_review(self) -> list[Row]:
        return [row for row in self.rows if row.flag in ("checked", "draft", "none")]

    @property
    def counts(self) -> Counter[str]:
        return Counter(row.flag for row in self.rows)

    def sentences(self) -> list[str]:
        said = (self._on_film(), self._reviews(), self._sorting(), self._failing())
        return [text for text in said if text]

    def _on_film(self) -> str:
        count = sum(row.flag != "to sort" for row in self.rows)
        text = ngettext("%(count)s swimmer is on film.", "%(count)s swimmers are on film.", count)
        return text % {"count": count} if count else _("Nobody is cut out of the film yet.")

    def _reviews(self) -> str:
        counts = self.counts
        parts = [
            (counts["out"], ngettext("%s review is out", "%s reviews are out", counts["out"])),
            (counts["checked"], ngettext("%s is checked", "%s are checked", counts["checked"])),
            (counts["draft"], ngettext("%s is begun", "%s are begun", counts["draft"])),
            (counts["none"], ngettext("%s is not begun", "%s are not begun", counts["none"])),
        ]
        said = [text % count for count, text in parts if count]
        return _("%(parts)s.") % {"parts": ", ".join(said)} if said else ""

    def _sorting(self) -> str:
        count = len(self.to_sort)
        text = ngettext(
            "%(count)s recording waits to be sorted.",
            "%(count)s recordings wait to be sorted.",
            count,
        )
        return text % {"count": count} if count else ""

    def _failing(self) -> str:
        text = ngettext(
            "%(count)s recording could not be made ready.",
            "%(count)s recordings could not be made ready.",
            self.failed,
        )
        return text % {"count": self.failed} if self.failed else ""


def sortable(takes: list[Take]) -> list[Take]:
    return [take for take in takes if take.state != Recording.State.FAILED]


def latest_evening(actor: Actor, session: Session | None = None) -> Evening | None:
    """The newest session with film that this person works with, looked for unless it is handed
    in. At most seven queries."""
    session = session or _latest_session(actor)
    if session is None:
        return None
    cut = cuts(session)
    uncut = _uncut(session, cut)
    rows = _filmed(session, cut, actor)
    if sortable(uncut):
        filmed = {row.swimmer.pk for row in rows}
        waiting = listing.may_be_filmed(session)
        rows += [Row(swimmer, "to sort") for swimmer in waiting if swimmer.pk not in filmed]
    rows.sort(key=lambda row: (ORDER.index(row.flag), row.swimmer.name))
    return Evening(session, rows, uncut, _left(actor, session))


def _left(actor: Actor, session: Session) -> list[Left]:
    """Who was cut out of the film of an earlier session and waits still, the newest first."""
    out = Review.objects.published().filter(
        session=OuterRef("recording__session"), swimmer=OuterRef("swimmers")
    )
    clips = Clip.objects.kept().filter(
        actor.staff_filter("recording__session__squad"),
        ~Q(recording__session=session),
        ~Exists(out),
        recording__thrown_away_at=None,
        recording__session__date__gte=session.date - LEFT_FOR,
        swimmers__isnull=False,
    )
    waiting = clips.order_by("-recording__session__date", "swimmers__first_name", "pk").values_list(
        *("recording__session", "swimmers", "recording__session__date"),
        *("swimmers__first_name", "swimmers__last_name", "code"),
    )
    first: dict[tuple[int, int], Left] = {}
    for held, swimmer, day, first_name, last_name, clip in waiting:
        first.setdefault((held, swimmer), Left(day, f"{first_name} {last_name}", clip))
    return list(first.values())


def _latest_session(actor: Actor) -> Session | None:
    # A row for each recording, of which the first will do: cheaper to ask than whether one exists.
    filmed = Session.objects.visible_to(actor).filter(
        recordings__isnull=False, recordings__thrown_away_at=None
    )
    return filmed.select_related("squad__club").order_by("-date", "-id").first()


def _uncut(session: Session, cut: list[tuple[Clip, Swimmer]]) -> list[Take]:
    """Not what the welfare officer holds: it waits for nobody here."""
    done = {clip.recording_id for clip, _swimmer in cut}
    rows = Recording.objects.kept().filter(~Q(pk__in=done), session=session, held_at=None)
    return listing.takes(rows, clips={})


def _filmed(session: Session, cut: list[tuple[Clip, Swimmer]], actor: Actor) -> list[Row]:
    told = tallies(session)
    clips: dict[Swimmer, list[Clip]] = {}
    for clip, swimmer in cut:
        clips.setdefault(swimmer, []).append(clip)
    return [_row(swimmer, own, told.get(swimmer.pk), actor) for swimmer, own in clips.items()]


def _row(swimmer: Swimmer, clips: list[Clip], tally: Tally | None, actor: Actor) -> Row:
    said = tally.said if tally else {}
    authors = tally.authors if tally else {}
    return Row(
        swimmer=swimmer,
        flag=flag_of(tally),
        review=tally,
        clip=next((clip for clip in clips if clip.pk not in said), clips[0]),
        floats=[clip.pk in said for clip in clips],
        said=tally.verdicts if tally else Counter(),
        authors=sorted(short_name(authors[pk]) for pk in authors if pk != actor.user.pk),
    )


def day_words(session: Session, now: datetime) -> str:
    """The weekday while that says enough, later the day of the month, at the club's own place."""
    today = localtime(now, ZoneInfo(session.squad.club.zone)).date()
    is_this_week = 0 <= (today - session.date).days < DAYS_A_WEEK
    return date_format(session.date, "l" if is_this_week else "j F")
