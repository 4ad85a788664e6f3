"""How the evening stands: the latest session with film, one flag a swimmer."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items.models import Verdict
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings import listing
from portal.recordings.listing import Take
from portal.recordings.models import Clip, Recording, Session
from portal.review.benching import flag_of
from portal.review.models import Comment, Review

DAYS_A_WEEK = 7
# The order on the line: what is done hangs first.
ORDER = ["out", "checked", "draft", "none", "to sort"]


@dataclass(frozen=True)
class Row:
    """A swimmer of the session. `clip` is the one to go on with, None while it is to be sorted."""

    swimmer: Swimmer
    flag: str
    review: Review | None = None
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
    def looked_at(self) -> int:
        return sum(self.floats)


@dataclass(frozen=True)
class Evening:
    session: Session
    rows: list[Row]
    to_sort: list[Take]

    @property
    def to_review(self) -> list[Row]:
        return [row for row in self.rows if row.flag in ("checked", "draft", "none")]

    @property
    def counts(self) -> Counter[str]:
        return Counter(row.flag for row in self.rows)

    def sentences(self) -> list[str]:
        return [text for text in (self._on_film(), self._reviews(), self._sorting()) if text]

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


def latest_evening(actor: Actor) -> Evening | None:
    """The newest session with film that this person works with. Nine queries."""
    session = _latest_session(actor)
    if session is None:
        return None
    takes = listing.takes(session.recordings.kept())
    to_sort = [take for take in takes if take.clip_count == 0]
    rows = _filmed(session, actor)
    if to_sort:
        filmed = {row.swimmer.pk for row in rows}
        waiting = listing.roster(session).may_be_filmed
        rows += [Row(swimmer, "to sort") for swimmer in waiting if swimmer.pk not in filmed]
    rows.sort(key=lambda row: (ORDER.index(row.flag), row.swimmer.name))
    return Evening(session, rows, to_sort)


def _latest_session(actor: Actor) -> Session | None:
    film = Recording.objects.kept().filter(session=OuterRef("pk"))
    sessions = Session.objects.visible_to(actor).filter(Exists(film))
    return sessions.select_related("squad__club", "pool").order_by("-date", "-id").first()


def _filmed(session: Session, actor: Actor) -> list[Row]:
    reviews = {row.swimmer_id: row for row in session.reviews.all()}
    comments = list(
        session.comments.kept().select_related("author").prefetch_related("reviews").order_by("id")
    )
    return [
        _row(swimmer, clips, reviews.get(swimmer.pk), comments, actor)
        for swimmer, clips in _clips_by_swimmer(session)
    ]


def _clips_by_swimmer(session: Session) -> list[tuple[Swimmer, list[Clip]]]:
    clips = Clip.objects.kept().filter(recording__session=session, recording__thrown_away_at=None)
    found: dict[Swimmer, list[Clip]] = {}
    for clip in clips.prefetch_related("swimmers"):
        for swimmer in clip.swimmers.all():
            found.setdefault(swimmer, []).append(clip)
    return list(found.items())


def _row(
    swimmer: Swimmer,
    clips: list[Clip],
    review: Review | None,
    comments: list[Comment],
    actor: Actor,
) -> Row:
    own = [c for c in comments if review and any(r.pk == review.pk for r in c.reviews.all())]
    said_on = {comment.clip_id for comment in own}
    authors = {comment.author_id: comment.author for comment in own}
    authors.pop(actor.user.pk, None)
    return Row(
        swimmer=swimmer,
        flag=flag_of(review, len(own)),
        review=review,
        clip=next((clip for clip in clips if clip.pk not in said_on), clips[0]),
        floats=[clip.pk in said_on for clip in clips],
        said=Counter(comment.verdict for comment in own),
        authors=[author.get_short_name() for author in authors.values()],
    )


def day_words(session: Session, now: datetime) -> str:
    """The weekday while that says enough, later the day of the month, at the club's own place."""
    today = localtime(now, ZoneInfo(session.squad.club.zone)).date()
    is_this_week = 0 <= (today - session.date).days < DAYS_A_WEEK
    return date_format(session.date, "l" if is_this_week else "j F")
