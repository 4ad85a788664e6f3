from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from portal.items.models import ItemSummary, Verdict
from portal.items.needing import not_seen_lately, open_items
from portal.items.observing import observe
from portal.technique.models import Fault
from tests.cast import DAY, Cast
from tests.items.seen import fault, said, session


def history(cast: Cast, signs: dict[str, str], **fields) -> dict[str, Fault]:
    """Faults by their slugs, each seen week for week as its signs say: 1 work on, 0 good, L not
    legal, . nothing. All end on the cast's day."""
    verdicts = {"1": Verdict.WORK_ON, "0": Verdict.GOOD, "L": Verdict.NOT_LEGAL}
    longest = max(map(len, signs.values()))
    faults = {slug: fault(slug, order=order) for order, slug in enumerate(signs)}
    for week in range(longest):
        where = session(cast, days_ago=7 * (longest - 1 - week))
        seen = [
            said(cast, where, faults[slug], verdicts[text.rjust(longest, ".")[week]], **fields)
            for slug, text in signs.items()
            if text.rjust(longest, ".")[week] in verdicts
        ]
        observe(uuid4(), seen)
    return faults


def names(items: list[ItemSummary]) -> list[str]:
    return [str(item.fault.slug) for item in items if item.fault]


def test_it_works(cast: Cast):
    history(
        cast,
        {
            "improving": "1100",
            "new": "1",
            "recurring": "11",
            "returned": "110001",
            "illegal": "LL00",
            "fixed": "11000",
            "good": "0",
        },
    )

    found = open_items(cast.swimmer, "breast")

    assert names(found) == ["illegal", "returned", "recurring", "new", "improving"]


def test_six_at_most_in_the_order_of_the_catalogue(cast: Cast):
    history(cast, {f"fault-{number}": "1" for number in range(8)})

    assert names(open_items(cast.swimmer, "breast")) == [f"fault-{n}" for n in range(6)]


def test_only_of_this_swimmer_and_stroke(cast: Cast):
    history(cast, {"early": "1"}, stroke="fly")

    assert not open_items(cast.swimmer, "breast")
    assert not open_items(cast.mate, "fly")
    assert names(open_items(cast.swimmer, "fly")) == ["early"]


def test_one_query(cast: Cast, django_assert_num_queries):
    history(cast, {"early": "1", "late": "1"})

    with django_assert_num_queries(1):
        assert len(names(open_items(cast.swimmer, "breast"))) == 2


def test_what_nobody_looked_at_for_four_sessions_is_not_seen_lately(cast: Cast):
    history(cast, {"gone": "1....", "going": "1...", "here": "00000"})
    items = open_items(cast.swimmer, "breast")

    assert names(not_seen_lately(cast.swimmer, items, on=DAY)) == ["gone"]


def test_and_what_nobody_looked_at_for_six_weeks(cast: Cast):
    history(cast, {"early": "1"})
    items = open_items(cast.swimmer, "breast")

    assert not not_seen_lately(cast.swimmer, items, on=DAY + timedelta(days=42))
    assert names(not_seen_lately(cast.swimmer, items, on=DAY + timedelta(days=43))) == ["early"]
