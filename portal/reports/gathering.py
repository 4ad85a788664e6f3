"""What stands on the sheet of a session, gathered anew whenever it is made or handed out."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.db.models import Prefetch, prefetch_related_objects

from portal.items.models import Verdict
from portal.notes.reading import WORDS
from portal.people.models import SquadPlace, Swimmer
from portal.recordings.models import Session
from portal.recordings.showing import showable
from portal.review.models import Comment, Review
from portal.review.telling import lay_over
from portal.technique.citing import named
from portal.technique.models import Caution


@dataclass(frozen=True)
class Said:
    """A comment as it is printed."""

    comment: Comment
    is_focus: bool = False

    @property
    def word(self) -> str:
        return str(WORDS[Verdict(self.comment.verdict)])

    @property
    def is_warning(self) -> bool:
        return self.comment.verdict == Verdict.NOT_LEGAL

    @property
    def rules(self) -> list[str]:
        """Each rule that a warning is about, with its book and how sure we are."""
        if not self.is_warning or self.comment.fault is None:
            return []
        return [named(rule.name, rule.citations) for rule in self.comment.fault.rules.all()]

    @property
    def dose(self) -> str:
        drill = self.comment.drill
        return self.comment.dose or (drill.dose if drill else "")


@dataclass(frozen=True)
class Block:
    """One swimmer's part of the sheet."""

    review: Review
    comments: list[Comment]
    showable: set[int]
    """Clips that families may see today."""

    @cached_property
    def lead(self) -> Said | None:
        """The focus; without one, the first comment that has a picture, or the first at all."""
        for comment in self.comments:
            if comment.pk == self.review.focus_id:
                return Said(comment, is_focus=True)
        pictured = filter(self._may_print, self.comments)
        first = next(pictured, None) or next(iter(self.comments), None)
        return Said(first) if first else None

    @property
    def good(self) -> list[Said]:
        """What was praised twice stands once."""
        return list({said.comment.title: said for said in self._others(Verdict.GOOD)}.values())

    @property
    def work_on(self) -> list[Said]:
        return self._others(Verdict.WORK_ON)

    @property
    def not_legal(self) -> list[Said]:
        return self._others(Verdict.NOT_LEGAL)

    def _others(self, verdict: Verdict) -> list[Said]:
        lead = self.lead.comment if self.lead else None
        rest = [comment for comment in self.comments if comment != lead]
        return [Said(comment) for comment in rest if comment.verdict == verdict]

    @property
    def picture(self) -> Comment | None:
        """The leading comment, if its still may be printed: not where somebody said no."""
        return self.lead.comment if self.lead and self._may_print(self.lead.comment) else None

    def _may_print(self, comment: Comment) -> bool:
        is_shown = bool(comment.still) and comment.clip_id in self.showable
        return is_shown and comment.still.storage.exists(str(comment.still))

    @property
    def cautions(self) -> list[Caution]:
        """Those of every drill and fault named here, each once."""
        terms = [term for c in self.comments for term in (c.drill, c.fault) if term]
        return list({c.pk: c for term in terms for c in term.cautions.all()}.values())

    def facts(self) -> Iterator[str]:
        """Whatever would make another sheet if it were otherwise."""
        yield f"{self.review.code} {self.review.publishings} {self.review.focus_id}"
        for comment in self.comments:
            yield f"{comment.code} {comment.version}"
        yield str(self.picture.still) if self.picture else "no picture"


@dataclass(frozen=True)
class Content:
    session: Session
    blocks: list[Block]
    missing: list[Swimmer]
    """Of the squad that day, those of whom no review is out."""

    @property
    def stills(self) -> dict[str, str]:
        """The name of each picture's file by its key."""
        pictures = [block.picture for block in self.blocks if block.picture]
        return {str(comment.code): str(comment.still) for comment in pictures}

    def fingerprint(self) -> str:
        facts = [fact for block in self.blocks for fact in block.facts()]
        missing = [str(swimmer.code) for swimmer in self.missing]
        return hashlib.sha256("\n".join([*facts, *missing]).encode()).hexdigest()


def content(session: Session, *, at: datetime) -> Content:
    """As it may be printed at that moment: a yes that has run out since shows nothing any more.

    Four queries, however many swimmers there are; for printing see `with_terms`.
    """
    reviews = sorted(_reviews(session), key=lambda row: (row.swimmer.name, row.pk))
    comments = {review.pk: _kept(review) for review in reviews}
    clips = {c.clip.pk: c.clip for kept in comments.values() for c in kept if c.clip}
    seen = showable(list(clips.values()), on=session.squad.club.day(at))
    places = SquadPlace.objects.on(session.date).filter(squad=session.squad_id)
    reviewed = [review.swimmer_id for review in reviews]
    missing = Swimmer.objects.filter(id__in=places.values("swimmer")).exclude(id__in=reviewed)
    return Content(
        session=session,
        blocks=[Block(review, comments[review.pk], seen) for review in reviews],
        missing=list(missing),
    )


def with_terms(content: Content) -> Content:
    """Reads cautions, rules and the club's own words at once, in five queries at most, instead of
    comment by comment."""
    comments = [comment for block in content.blocks for comment in block.comments]
    prefetch_related_objects(comments, "drill__cautions", "fault__cautions", "fault__rules")
    lay_over(comments, club=content.session.squad.club)
    return content


def _reviews(session: Session) -> list[Review]:
    kept = Comment.objects.kept().in_reading_order()
    kept = kept.select_related("clip__recording", "checkpoint", "fault__checkpoint", "drill")
    published = session.reviews.published().select_related("swimmer")
    return list(published.prefetch_related(Prefetch("comments", kept, "kept")))


def _kept(review: Review) -> list[Comment]:
    """Notes from the deck after those on film: engines do not agree on where no clip belongs."""
    comments: list[Comment] = review.kept  # type: ignore[attr-defined]
    return sorted(comments, key=lambda comment: comment.clip_id is None)
