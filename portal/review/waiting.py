"""What waits for a coach beside tonight's film: drafts to check, and how far the sessions are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, IntegerField, OuterRef, Q, Subquery
from django.db.models.expressions import RawSQL
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from portal.items.models import Verdict
from portal.people.access import Actor
from portal.recordings.models import Clip, Session
from portal.review.models import Comment, Review
from portal.review.slips import bench_of
from portal.review.surveying import Evening, Row

# In SQL, since built from the models they would cost the desk a quarter of itself.
FILMS = """(SELECT COUNT(*) FROM recordings_recording films
    WHERE films.session_id = recordings_session.id AND films.thrown_away_at IS NULL)"""
FILMED = """(SELECT COUNT(DISTINCT places.swimmer_id) FROM recordings_clip_swimmers places
    JOIN recordings_clip clips ON clips.id = places.clip_id
    JOIN recordings_recording films ON films.id = clips.recording_id
    WHERE films.session_id = recordings_session.id AND films.thrown_away_at IS NULL
        AND clips.removed_at IS NULL)"""
BEGUN = """(SELECT COUNT(DISTINCT reviews.id) FROM review_review reviews
    JOIN review_comment_reviews places ON places.review_id = reviews.id
    JOIN review_comment said ON said.id = places.comment_id AND said.dropped_at IS NULL
    WHERE reviews.session_id = recordings_session.id AND reviews.state <> 'published')"""
OUT = """(SELECT COUNT(*) FROM review_review reviews
    WHERE reviews.session_id = recordings_session.id AND reviews.state = 'published')"""
HANDED = """(SELECT COUNT(*) FROM review_review reviews
    WHERE reviews.handed_at IS NOT NULL AND reviews.state = 'draft')"""
COUNTS = {
    name: RawSQL(sql, [], output_field=IntegerField())  # noqa: S611 - nothing is put into it
    for name, sql in {
        "films": FILMS,
        "filmed": FILMED,
        "begun": BEGUN,
        "out": OUT,
        "handed": HANDED,
    }.items()
}
# What waits longest for somebody else goes first, then what is nearest to going out.
NEXT = {
    "checked": gettext_lazy("Publish %(name)s"),
    "draft": gettext_lazy("Go on with %(name)s"),
    "none": gettext_lazy("Begin with %(name)s"),
}
MOST_SESSIONS = 6
MOST_DRAFTS = 8


def drafts(actor: Actor, paces: Sequence[Pace]) -> list[Review]:
    """Those that somebody asked this person to check, the longest waiting first, each with
    `said`, `praised` and a `quote`. One query, and none where nothing is handed over."""
    if not any(pace.handed for pace in paces):
        return []
    of_mine = Q(session__squad__in=actor.coaches) | Q(session__squad__club__in=actor.heads)
    handed = Review.objects.filter(
        of_mine, state=Review.State.DRAFT, handed_at__isnull=False
    ).exclude(handed_by=actor.user)
    kept = Q(comments__dropped_at=None)
    words = Comment.objects.kept().filter(reviews=OuterRef("pk")).exclude(words="")
    rows = handed.annotate(
        said=Count("comments", filter=kept),
        praised=Count("comments", filter=kept & Q(comments__verdict=Verdict.GOOD)),
        quote=Subquery(words.order_by("pk").values("words")[:1]),
    )
    rows = rows.select_related("swimmer", "handed_by", "session__squad__club")
    return list(rows.order_by("handed_at", "pk")[:MOST_DRAFTS])


@dataclass(frozen=True)
class Thing:
    words: str
    address: str


def next_thing(evening: Evening, drafts: Sequence[Review], *, actor: Actor) -> Thing | None:
    """What one key leads to from the desk."""
    if drafts:
        words = _("Check %(name)s") % {"name": drafts[0].swimmer.first_name}
        return Thing(words, reverse("review:publish", args=[drafts[0].code]))
    leads = actor.leads(evening.session.squad)
    for flag in ("checked", "draft", "none"):
        for row in evening.rows:
            if row.flag == flag and row.clip and (leads or row.is_mine_to_do):
                return _go_on(row, flag, row.clip)
    if evening.to_sort:
        words = _("Sort %(name)s") % {"name": evening.to_sort[0].recording.name}
        return Thing(words, reverse("recordings:sorting", args=[evening.to_sort[0].recording.code]))
    return None


def _go_on(row: Row, flag: str, clip: Clip) -> Thing:
    words = str(NEXT[flag]) % {"name": row.swimmer.first_name}
    if flag == "checked" and row.review:
        return Thing(words, reverse("review:publish", args=[row.review.code]))
    return Thing(words, bench_of(clip))


@dataclass(frozen=True)
class Pace:
    """How far a session is, in numbers of swimmers."""

    session: Session
    has_film: bool
    handed: int
    """Drafts that wait for a look in any session: without one nobody need look for whom."""
    filmed: int
    begun: int
    out: int

    @property
    def all(self) -> int:
        """Deck notes make reviews of swimmers without film."""
        return max(self.filmed, self.begun + self.out)

    @property
    def beads(self) -> list[str]:
        """One for each swimmer, what is done first."""
        rest = self.all - self.out - self.begun
        return ["out"] * self.out + ["begun"] * self.begun + ["none"] * rest

    @property
    def words(self) -> str:
        text = ngettext("%(out)s of %(all)s out", "%(out)s of %(all)s out", self.all)
        return text % {"out": self.out, "all": self.all} if self.all else _("nobody cut out yet")


def paces(actor: Actor) -> list[Pace]:
    """The newest sessions in which something was filmed or said. One query."""
    rows = Session.objects.visible_to(actor).annotate(**COUNTS)
    rows = rows.filter(Q(films__gt=0) | Q(begun__gt=0) | Q(out__gt=0))
    newest: Any = rows.select_related("squad__club").order_by("-date", "-pk")[:MOST_SESSIONS]
    return [Pace(one, one.films > 0, one.handed, one.filmed, one.begun, one.out) for one in newest]


def newest_film(paces: Sequence[Pace]) -> Session | None:
    """None too when the sessions of late are all without film."""
    return next((pace.session for pace in paces if pace.has_film), None)
