from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import timedelta
from threading import Barrier
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.items import rebuilding
from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.observing import observe, withdraw
from portal.items.recurrence import State
from tests.cast import Cast
from tests.items.seen import fault, said, session, summaries
from tests.soak import count


def publish(*observations: Observation, code: UUID | None = None) -> UUID:
    code = code or uuid4()
    for each in observations:
        each.review_code = code
    observe(code, observations)
    return code


def test_it_works(cast: Cast):
    early, here = fault("early"), session(cast)

    publish(said(cast, here, early))

    [summary] = ItemSummary.objects.all()
    assert (summary.swimmer, summary.fault, summary.stroke) == (cast.swimmer, early, "breast")
    assert (summary.looks, summary.faulty, summary.state) == (1, 1, State.NEW)
    assert (summary.last_look, summary.last_session) == (here.date, here.pk)
    assert (summary.first_fault, summary.last_fault) == (here.date, here.date)


def test_praise_counts_for_each_fault_of_its_point(cast: Cast):
    early = fault("early")
    wide = fault("wide", checkpoint=early.checkpoint)
    first, second = session(cast, days_ago=7), session(cast)
    publish(said(cast, first, early), said(cast, first, wide))

    publish(said(cast, second, early, Verdict.GOOD))

    assert {(s.fault, s.looks, s.clean_run) for s in ItemSummary.objects.all()} == {
        (early, 2, 1),
        (wide, 2, 1),
    }


def test_a_fault_says_nothing_of_its_neighbour(cast: Cast):
    early = fault("early")
    wide = fault("wide", checkpoint=early.checkpoint)
    publish(said(cast, session(cast, days_ago=7), wide))

    publish(said(cast, session(cast), early))

    assert ItemSummary.objects.get(fault=wide).looks == 1


def test_a_praised_point_gives_way_to_its_first_fault(cast: Cast):
    early = fault("early")
    publish(said(cast, session(cast, days_ago=7), early, Verdict.GOOD))
    assert ItemSummary.objects.get().state == State.GOOD

    code = publish(said(cast, session(cast), early))
    summary = ItemSummary.objects.get()
    assert (summary.fault, summary.looks, summary.faulty) == (early, 2, 1)

    withdraw(code)
    assert ItemSummary.objects.get().fault is None


def test_a_clip_of_another_swimmer_moves_on(cast: Cast):
    early, here = fault("early"), session(cast)
    code = publish(said(cast, here, early))

    publish(said(cast, here, early, swimmer=cast.mate), code=code)

    assert ItemSummary.objects.get().swimmer == cast.mate


def test_another_tag_leaves_nothing_of_the_first(cast: Cast):
    early, wide, here = fault("early"), fault("wide"), session(cast)
    code = publish(said(cast, here, early))

    publish(said(cast, here, wide), code=code)

    assert ItemSummary.objects.get().fault == wide


def test_what_is_withdrawn_leaves_no_summary(cast: Cast):
    withdraw(publish(said(cast, session(cast), fault("early"))))

    assert not ItemSummary.objects.exists()


def test_an_erased_swimmer_leaves_none(cast: Cast):
    publish(said(cast, session(cast), fault("early"), swimmer=cast.mate))

    Observation.objects.filter(swimmer=cast.mate).delete()
    cast.mate.delete()

    assert not ItemSummary.objects.exists()


VERDICTS = st.sampled_from(list(Verdict))
OBSERVATION = st.tuples(
    st.integers(0, 1), st.integers(0, 2), st.sampled_from(["breast", "fly"]), VERDICTS
)
# The review that is published anew, its session, and what it says; nothing at all takes it back.
EDIT = st.tuples(st.integers(0, 7), st.integers(0, 5), st.lists(OBSERVATION, max_size=3))


@settings(
    max_examples=count(10, 30),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.lists(EDIT, min_size=count(20, 200), max_size=count(40, 200)))
def test_after_any_edits_the_summaries_are_those_of_a_rebuild(cast: Cast, edits):
    Observation.objects.all().delete()
    ItemSummary.objects.all().delete()
    tag = uuid4().hex[:8]
    faults = [fault(f"{tag}-early"), fault(f"{tag}-late")]
    faults.append(fault(f"{tag}-wide", checkpoint=faults[0].checkpoint))
    sessions = [session(cast, days_ago=9 * number) for number in range(6)]
    swimmers, coaches = [cast.swimmer, cast.mate], [cast.coach, cast.assistant]
    reviews = [uuid4() for _ in range(8)]
    for review, where, words in edits:
        publish(
            *(
                said(
                    cast,
                    sessions[where],
                    faults[what],
                    verdict,
                    swimmer=swimmers[who],
                    stroke=stroke,
                    coach=coaches[review % 2],
                )
                for who, what, stroke, verdict in words
            ),
            code=reviews[review],
        )

    kept = summaries()
    assert rebuilding.differences() == 0
    ItemSummary.objects.all().delete()
    rebuilding.rebuild()
    assert summaries() == kept


@pytest.mark.django_db(transaction=True)
def test_two_publishings_at_once_lose_nothing(cast: Cast):
    early = fault("early")
    sessions = [session(cast, days_ago=7 * number) for number in range(8)]
    gate = Barrier(len(sessions))

    def at_once(number: int) -> None:
        with closing(connection):
            gate.wait()
            publish(said(cast, sessions[number], early))

    with ThreadPoolExecutor(len(sessions)) as pool:
        list(pool.map(at_once, range(len(sessions))))

    summary = ItemSummary.objects.get()
    assert (summary.looks, summary.faulty) == (8, 8)
    assert rebuilding.differences() == 0


def test_an_edit_asks_as_much_of_a_long_history_as_of_a_short_one(cast: Cast):
    early = fault("early")
    sessions = [session(cast, days_ago=7 * number) for number in range(20)]
    asked = []
    for where in sessions:
        with CaptureQueriesContext(connection) as queries:
            publish(said(cast, where, early))
        asked.append(len(queries))

    assert max(asked[1:]) == asked[1] <= asked[0] + 1


def test_a_day_put_off_by_a_fortnight_is_found_by_the_rebuild(cast: Cast):
    early, here = fault("early"), session(cast, days_ago=30)
    publish(said(cast, here, early))
    here.date -= timedelta(days=14)
    here.save(update_fields=["date"])

    assert rebuilding.differences() == 1
    assert rebuilding.rebuild() == 2

    assert ItemSummary.objects.get().last_look == here.date
    assert rebuilding.differences() == 0
