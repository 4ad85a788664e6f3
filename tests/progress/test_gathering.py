from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.kit.signs import Sign
from portal.people.models import Squad
from portal.progress import gathering
from portal.review import publishing
from portal.review.models import Review
from portal.technique.models import Checkpoint, Fault
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer
from tests.notes import staging
from tests.progress import looks
from tests.review import words


def told(cast: Cast) -> gathering.History:
    reviews = Review.objects.published().filter(swimmer=cast.swimmer)
    return gathering.history(cast.swimmer, reviews, on=DAY)


def test_it_works(cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "", "good")

    history = told(cast)

    [item] = history.items
    assert (item.name, item.stroke) == ("Feet not brought up to the hips", "breaststroke")
    assert item.signs == (Sign.WORK_ON, Sign.NOT_LOOKED_AT, Sign.GOOD)
    assert history.newest == DAY
    assert history.open_items == [item]


def test_what_publishing_writes_is_what_is_read(cast: Cast):
    """The real verb, not rows by hand: a draft is no look, and taking back ends one."""
    review = staging.evening(cast)
    assert told(cast).columns == []

    publishing.publish(review, by=cast.coach, at=NOW)

    history = told(cast)
    names = [item.name for item in history.items]
    assert names == ["Two dolphin kicks", "Line given up too early", "Heels close to the hips"]
    assert [len(history.open_items), len(history.columns)] == [2, 1]

    publishing.take_back(review, by=cast.coach, at=NOW)
    assert told(cast).items == []


def test_nobody_has_looked(cast: Cast):
    history = told(cast)

    assert history.newest is None
    assert history.items == []
    assert history.columns == []


def test_a_fault_and_a_checkpoint_of_one_slug_keep_their_names(cast: Cast):
    point = Checkpoint.objects.create(slug="elbow", name="Elbow up", strokes=" breast ")
    fault = Fault.objects.create(
        slug="elbow", name="Elbow drops", strokes=" breast ", checkpoint=point, severity="major"
    )
    looks.look(looks.session(cast), cast.swimmer, fault, "good")
    assert [item.name for item in told(cast).items] == ["Elbow up"]

    looks.look(looks.session(cast, days_ago=7), cast.swimmer, fault, "work on")
    assert [item.name for item in told(cast).items] == ["Elbow drops"]


def test_what_lies_outside_the_reviews_is_not_told(cast: Cast):
    """Not even the name of a fault, where only its checkpoint was praised in sight."""
    known = words.learn()
    away = looks.session(cast, days_ago=7, squad=cast.other_squad)
    looks.look(away, cast.swimmer, known.feet, "work on")
    looks.look(looks.session(cast), cast.swimmer, known.feet, "good")

    here = Review.objects.published().filter(session__squad=cast.squad)

    [item] = gathering.history(cast.swimmer, here, on=DAY).items
    assert item.name == "Heels close to the hips"
    assert item.signs == (Sign.GOOD,)


def test_squads_hold_who_swims_there_that_day(cast: Cast):
    cast.swimmer.places.update(ends=DAY)

    [(squad, places), (_other, others)] = gathering.lists(Squad.objects.all(), on=DAY)

    assert squad == cast.squad
    assert [each.swimmer for each in places] == [cast.mate]
    assert others == []
    assert [each.swimmer for each in gathering.of_squad(squad, on=DAY)] == [cast.mate]


def test_the_list_says_what_the_grids_say(cast: Cast):
    """One reads the summaries and the other all that was said."""
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "good", "good", "good")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal", "good")
    looks.weekly(cast, cast.mate, known.feet, "work on", "work on")

    [(_squad, places)] = gathering.lists([cast.squad], on=DAY)

    told = {
        each.swimmer: (
            each.newest,
            len(each.open_items),
            sum(item.is_not_legal for item in each.open_items),
        )
        for each in gathering.of_squad(cast.squad, on=DAY)
    }
    assert {each.swimmer: (each.newest, each.open, each.not_legal) for each in places} == told
    assert told == {cast.swimmer: (DAY, 1, 1), cast.mate: (DAY, 1, 0)}


def test_what_nobody_looked_at_for_long(cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "", "", "", "")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal")

    assert {item.name: item.is_unseen for item in told(cast).items} == {
        "Two dolphin kicks": False,
        "Feet not brought up to the hips": True,
    }


@pytest.mark.parametrize("count", [10, 60])
def test_the_number_of_queries_stands(cast: Cast, count: int):
    known = words.learn()
    where = [looks.session(cast, days_ago=7 * week) for week in range(3)]
    for number in range(count):
        swimmer = make_swimmer(cast.club, cast.squad, f"Child {number}", born=LONG_AGO)
        for each in where:
            looks.look(each, swimmer, known.feet, "work on")

    with CaptureQueriesContext(connection) as spent:
        histories = gathering.of_squad(cast.squad, on=DAY)
    with CaptureQueriesContext(connection) as listed:
        [(_squad, places)] = gathering.lists([cast.squad], on=DAY)

    assert sum(len(each.open_items) for each in histories) == count
    assert sum(each.open for each in places) == count
    assert (len(spent), len(listed)) == (5, 3)
