"""Whatever coaches do, the summaries are those that a rebuild would make."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from portal.items import checking, rebuilding
from portal.items.checking import ONE_TAP, Key
from portal.items.models import ItemSummary, Observation, Verdict
from portal.people.models import Swimmer
from portal.recordings.models import Clip, Effort, Session, View
from portal.review import commenting, decking, publishing, stilling
from portal.review.models import Comment, Review
from portal.technique.models import Fault, Rule
from tests.cast import DAY, LONG_AGO, NOW, Cast, consent_to_all, make_swimmer
from tests.items.seen import fault, session, summaries
from tests.recordings.filmed import ready
from tests.soak import count

REFUSALS = (commenting.Refused, publishing.Hindered, checking.NotAsked)
DAYS_AGO = (0, 6, 13, 27, 41)
"""The sessions are filled in any order, so that older ones go out after newer ones."""


class Evenings:
    """Two swimmers in five sessions, each filmed together, and what coaches may do to them."""

    def __init__(self, cast: Cast) -> None:
        tag = uuid4().hex[:8]
        self.cast = cast
        self.swimmers = [
            make_swimmer(cast.club, cast.squad, f"{name} {tag}", born=LONG_AGO)
            for name in ("Eda", "Bo")
        ]
        for swimmer in self.swimmers:
            consent_to_all(swimmer, cast.guardian)
        self.clips = [self._film(session(cast, days_ago=days)) for days in DAYS_AGO]
        self.faults = [fault(f"{tag}-early"), fault(f"{tag}-late")]
        self.faults += [
            fault(f"{tag}-{slug}", checkpoint=self.faults[0].checkpoint) for slug in ("wide", "old")
        ]
        rule = Rule.objects.create(slug=f"{tag}-rule", name="Feet", strokes=" breast ")
        for each in self.faults:
            each.rules.add(rule)

    def _film(self, where: Session) -> Clip:
        recording = ready(self.cast)
        recording.session = where
        recording.save(update_fields=["session"])
        clip = Clip.objects.create(
            recording=recording,
            first_frame=0,
            last_frame=90,
            stroke="breast",
            view=View.SIDE_UNDER,
            effort=Effort.RACE,
            cut_by=self.cast.coach,
            cut_at=NOW,
        )
        clip.swimmers.set(self.swimmers)
        return clip

    def do(self, what: str, one: int, other: int, third: int) -> None:
        getattr(self, what)(one, other, third)

    def say(self, where: int, who: int, what: int) -> None:
        clip, coach = self.clips[where % 5], [self.cast.coach, self.cast.assistant][what % 2]
        swimmers = self._some(who)
        commenting.write(clip, by=coach, at=NOW, frame=5, swimmers=swimmers, **self._tag(what))

    def note(self, where: int, who: int, what: int) -> None:
        for swimmer in self._some(who)[:1]:
            place = self.clips[where % 5].recording.session
            decking.write(
                place, swimmer, stroke="breast", by=self.cast.coach, at=NOW, **self._tag(what)
            )

    def retag(self, which: int, what: int, _: int) -> None:
        for comment in self._comments(which):
            self._change(comment, **self._tag(what))

    def give_to(self, which: int, who: int, _: int) -> None:
        for comment in self._comments(which):
            self._change(comment, swimmers=self._some(who))

    def drop(self, which: int, _: int, __: int) -> None:
        for comment in self._comments(which):
            commenting.drop(comment, by=self.cast.coach, at=NOW)

    def restore(self, which: int, _: int, __: int) -> None:
        for comment in Comment.objects.exclude(dropped_at=None)[which % 4 :][:1]:
            commenting.restore(comment, by=self.cast.coach, at=NOW)

    def check(self, which: int, word: int, _: int) -> None:
        for review in self._reviews(which):
            answers = {Key.of(item): ONE_TAP[word % 3] for item in checking.open_items_for(review)}
            checking.answer(review, answers, by=self.cast.coach, at=NOW)

    def publish(self, which: int, _: int, __: int) -> None:
        for review in self._reviews(which):
            publishing.publish(review, by=self.cast.coach, at=NOW)

    def take_back(self, which: int, _: int, __: int) -> None:
        for review in self._reviews(which):
            publishing.take_back(review, by=self.cast.coach, at=NOW)

    def merge(self, _: int, into: int, __: int) -> None:
        """A merge stands in the catalogue's files, and the summaries follow within minutes. Of one
        that is pointed elsewhere later they follow at night."""
        old = Fault.objects.filter(pk=self.faults[3].pk, merged_into=None)
        old.update(merged_into=self.faults[into % 3], is_retired=True)
        rebuilding.follow_merges()

    def erase(self, which: int, _: int, __: int) -> None:
        """One of them at most, and seldom."""
        if which == 9 and len(self.swimmers) > 1:
            self.swimmers.pop().delete()

    def _some(self, who: int) -> list[Swimmer]:
        return [each for place, each in enumerate(self.swimmers) if (who % 3 + 1) >> place & 1]

    def _tag(self, what: int) -> Any:
        chosen = self.faults[what % 4]
        verdict = (Verdict.GOOD, Verdict.WORK_ON, Verdict.NOT_LEGAL)[what % 3]
        slug = chosen.checkpoint.slug if verdict == Verdict.GOOD else chosen.slug
        return {"verdict": verdict, "tag": slug, "words": "Seen."}

    def _change(self, comment: Comment, **fields: Any) -> None:
        if comment.clip:
            commenting.change(
                comment, version=comment.version, by=self.cast.coach, at=NOW, **fields
            )

    def _comments(self, which: int) -> list[Comment]:
        found = list(Comment.objects.kept().order_by("pk"))
        return [found[which % len(found)]] if found else []

    def _reviews(self, which: int) -> list[Review]:
        found = list(Review.objects.filter(swimmer__in=self.swimmers).order_by("pk"))
        return [found[which % len(found)]] if found else []


# Publishing and what goes before it come often, else little would ever be out.
WORDS = ["say"] * 4 + ["publish"] * 4 + ["note", "retag", "give_to", "check", "take_back"] * 2
WORDS += ["drop", "restore", "merge", "erase"]
NUMBER = st.integers(0, 11)
EDIT = st.tuples(st.sampled_from(WORDS), NUMBER, NUMBER, NUMBER)


@pytest.fixture
def undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a still shows is of no concern here, and drawing it is slow."""
    monkeypatch.setattr(stilling, "make_still", lambda _: None)
    monkeypatch.setattr(stilling, "is_current", lambda _: True)


@settings(
    max_examples=count(6, 30),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(EDIT, min_size=count(50, 200), max_size=count(50, 200)))
def test_after_any_edits_the_summaries_are_those_of_a_rebuild(cast: Cast, undrawn: None, edits):
    for table in (Review, Comment, Observation, ItemSummary):
        table.objects.all().delete()
    evenings = Evenings(cast)
    for edit in edits:
        with suppress(*REFUSALS):
            evenings.do(*edit)

    event(f"{Review.objects.published().count()} are out")
    kept = summaries()
    assert rebuilding.differences() == 0
    ItemSummary.objects.all().delete()
    rebuilding.rebuild()
    assert summaries() == kept


@pytest.fixture
def evenings(cast: Cast, undrawn: None) -> Evenings:
    return Evenings(cast)


def standing() -> list[tuple[Any, ...]]:
    rows = ItemSummary.objects.order_by("swimmer", "fault")
    return list(rows.values_list("swimmer", "fault", "looks", "faulty"))


def test_out_taken_back_tagged_anew_and_merged(evenings: Evenings):
    """That each edit does what its name says, else the edits above would prove nothing."""
    eda, bo = evenings.swimmers
    early, _, wide, old = (each.pk for each in evenings.faults)
    evenings.say(0, 2, 4)
    evenings.publish(0, 0, 0)
    evenings.publish(1, 0, 0)
    assert standing() == [(eda.pk, early, 1, 1), (bo.pk, early, 1, 1)]

    evenings.take_back(0, 0, 0)
    evenings.take_back(1, 0, 0)
    assert not standing()

    evenings.retag(0, 7, 0)
    evenings.publish(0, 0, 0)
    assert standing() == [(eda.pk, old, 1, 1)]

    evenings.merge(0, 2, 0)
    assert standing() == [(eda.pk, wide, 1, 1)]


def test_given_to_another_back_dated_and_erased(cast: Cast, evenings: Evenings):
    eda, bo = evenings.swimmers
    early, late = (each.pk for each in evenings.faults[:2])
    evenings.say(0, 0, 4)
    evenings.publish(0, 0, 0)
    evenings.note(3, 0, 1)
    older = Review.objects.get(session__date=DAY - timedelta(days=27))
    publishing.publish(older, by=cast.coach, at=NOW)
    assert standing() == [(eda.pk, early, 1, 1), (eda.pk, late, 1, 1)]

    evenings.take_back(0, 0, 0)
    evenings.give_to(0, 1, 0)
    publishing.publish(Review.objects.get(swimmer=bo), by=cast.coach, at=NOW)
    assert standing() == [(eda.pk, late, 1, 1), (bo.pk, early, 1, 1)]

    evenings.erase(9, 0, 0)
    assert standing() == [(eda.pk, late, 1, 1)]
    assert Observation.objects.count() == 1
