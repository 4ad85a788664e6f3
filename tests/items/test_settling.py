from __future__ import annotations

from uuid import uuid4

import pytest

from portal.audit.models import Entry
from portal.items import rebuilding
from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.observing import observe
from portal.items.settling import Settled, dispute_of, disputes, settle
from portal.recordings.models import Clip, Effort, View
from portal.technique.models import Fault
from tests.cast import NOW, Cast
from tests.items.seen import fault, said
from tests.recordings.filmed import ready


@pytest.fixture
def early(db) -> Fault:
    return fault("early")


@pytest.fixture
def clip(cast: Cast, early: Fault) -> Clip:
    """On which the coach saw the fault and the assistant did not."""
    clip = Clip.objects.create(
        recording=ready(cast),
        first_frame=0,
        last_frame=90,
        stroke="breast",
        view=View.SIDE_UNDER,
        effort=Effort.EASY,
        cut_by=cast.coach,
        cut_at=NOW,
    )
    say(cast, early, clip=clip)
    say(cast, early, Verdict.GOOD, clip=clip, coach=cast.assistant)
    return clip


def say(cast: Cast, what: Fault, verdict: str = Verdict.WORK_ON, **fields) -> Observation:
    made = said(cast, cast.session, what, verdict, **fields)
    observe(uuid4(), [made])
    return made


def test_it_works(cast: Cast, early: Fault, clip: Clip):
    assert ItemSummary.objects.get().looks == 0
    [dispute] = disputes([cast.swimmer.pk])
    assert (dispute.fault, dispute.swimmer, dispute.stroke) == (early, cast.swimmer, "breast")
    assert [each.coach for each in dispute.there] == [cast.coach]
    assert [each.coach for each in dispute.clean] == [cast.assistant]

    settle(dispute, is_there=True, by=cast.head_coach, at=NOW)

    summary = ItemSummary.objects.get()
    assert (summary.looks, summary.faulty, summary.disputed) == (1, 1, 0)
    assert not disputes([cast.swimmer.pk])
    assert rebuilding.differences() == 0
    assert Observation.objects.count() == 2
    entry = Entry.objects.get(thing_code=cast.swimmer.code)
    assert (entry.action, entry.actor_code) == (Entry.Action.CHANGED, cast.head_coach.code)
    assert entry.detail == {"settled": "early", "counts": "still there", "overruled": 1}


def test_the_other_side(cast: Cast, clip: Clip):
    [dispute] = disputes([cast.swimmer.pk])

    settle(dispute, is_there=False, by=cast.coach, at=NOW)

    [summary] = ItemSummary.objects.all()
    assert (summary.looks, summary.faulty) == (1, 0)
    assert rebuilding.differences() == 0


def test_settled_once(cast: Cast, clip: Clip):
    [dispute] = disputes([cast.swimmer.pk])
    settle(dispute, is_there=True, by=cast.coach, at=NOW)

    with pytest.raises(Settled):
        settle(dispute, is_there=False, by=cast.coach, at=NOW)

    assert ItemSummary.objects.get().faulty == 1


def test_said_anew_is_disputed_anew(cast: Cast, early: Fault, clip: Clip):
    settle(disputes([cast.swimmer.pk])[0], is_there=True, by=cast.coach, at=NOW)
    [overruled] = Observation.objects.exclude(overruled_at=None)

    again = said(cast, cast.session, early, Verdict.GOOD, clip=clip, coach=cast.assistant)
    observe(overruled.review_code, [again])

    assert len(disputes([cast.swimmer.pk])) == 1
    assert ItemSummary.objects.get().looks == 0


def test_one_coach_who_sees_both_disputes_nothing(cast: Cast, early: Fault):
    clip = Clip.objects.create(
        recording=ready(cast),
        first_frame=0,
        last_frame=90,
        stroke="breast",
        view=View.SIDE_UNDER,
        effort=Effort.EASY,
        cut_by=cast.coach,
        cut_at=NOW,
    )
    say(cast, early, clip=clip)
    say(cast, early, Verdict.GOOD, clip=clip)

    assert not disputes([cast.swimmer.pk])
    assert ItemSummary.objects.get().faulty == 1


def test_another_clip_or_swimmer_is_no_dispute(cast: Cast, early: Fault):
    say(cast, early)
    say(cast, early, Verdict.GOOD, coach=cast.assistant)

    assert not disputes([cast.swimmer.pk, cast.mate.pk])


def test_of_merged_faults_as_of_one(cast: Cast, clip: Clip, early: Fault):
    late = fault("late")
    Fault.objects.filter(pk=early.pk).update(merged_into=late)
    say(cast, late, Verdict.GOOD, clip=clip, coach=cast.assistant)

    [dispute] = disputes([cast.swimmer.pk])

    assert dispute.fault == late
    assert dispute_of([cast.swimmer.pk], dispute.name) == dispute
    assert dispute_of([cast.mate.pk], dispute.name) is None


def test_one_query_however_many(cast: Cast, clip: Clip, early: Fault, django_assert_num_queries):
    for _ in range(5):
        say(cast, early, clip=clip, swimmer=cast.mate)
        say(cast, early, Verdict.GOOD, clip=clip, coach=cast.assistant, swimmer=cast.mate)

    with django_assert_num_queries(1):
        assert len(disputes([cast.swimmer.pk, cast.mate.pk])) == 2
