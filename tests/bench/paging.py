"""What a page costs the processor, beside a page that says ok to somebody who is signed in."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from portal.people.access import actor_for
from portal.people.models import User
from portal.recordings.models import Rendition
from tests.bench.evening import Evening, hold, publish
from tests.bench.measuring import Row, Target, in_turn
from tests.cast import Cast
from tests.factors import show_factor

FEW, MANY = 10, 1000
RUNS = 9
# Each run is so many visits: one alone is shorter than the clock's own noise.
BARE_VISITS, PAGE_VISITS = 20, 3
AT_MOST, NO_MORE = Target(at_most=8), Target(at_most=1)
A_LITTLE = Target(at_most=0.3)
MOST_QUERIES = 12
# Far more than anybody writes about one swimmer: what a page costs that is all moments.
LONG = 64

Visit = Callable[[], None]


def pages(cast: Cast, _folder: Path) -> list[Row]:
    evening = hold(cast, cast.squad, cast.coach, comments=FEW)
    few = _visits(evening)
    busy = hold(cast, cast.other_squad, cast.other_coach, comments=MANY)
    many = _visits(busy)
    crowded = {f"{page}, {MANY:,} comments": visit for page, visit in many.items()}
    quiet = {f"{page}, {FEW} comments": visit for page, visit in few.items()}
    ranges = _ranges(evening)
    bare = _visit(cast.coach, reverse("bare"))
    grown = [
        Row.of(
            f"{page}, {MANY:,} comments",
            [_queries(many[page])],
            [_queries(few[page])],
            unit="queries",
            beside=f"the same with {FEW} comments",
            target=NO_MORE,
        )
        for page in few
    ]
    return [
        *_processor({**quiet, **crowded, **ranges}, bare),
        *_processor(_rules(evening), bare, target=A_LITTLE),
        *_counted({**crowded, **ranges}),
        *grown,
        *_long(busy, bare),
    ]


def _visits(evening: Evening) -> dict[str, Visit]:
    coach, guardian = evening.coach, evening.guardian
    return {
        "bench": _visit(coach, reverse("review:bench", args=[evening.clip.code])),
        "desk": _visit(coach, reverse("home")),
        "session": _visit(coach, reverse("recordings:session", args=[evening.session.code])),
        "publish": _visit(coach, reverse("review:publish", args=[evening.draft.code])),
        "notes": _visit(guardian, reverse("notes:notes", args=[evening.review.code])),
    }


def _rules(evening: Evening) -> dict[str, Visit]:
    """Who somebody is today, and whether they may do one thing: what every page asks."""

    def asked(user: User) -> Visit:
        def ask() -> None:
            actor = actor_for(user, at=timezone.now())
            assert actor.leads(evening.session.squad) or actor.is_family

        return ask

    return {"rules, coach": asked(evening.coach), "rules, guardian": asked(evening.guardian)}


def _long(evening: Evening, bare: Visit) -> list[Row]:
    """Notes of many moments, beside those of a few: a page may only grow with what it says."""
    publish(evening.draft, evening.coach, moments=LONG)
    address = reverse("notes:notes", args=[evening.draft.code])
    long = {f"notes, {LONG} moments": _visit(evening.guardian, address)}
    return [*_processor(long, bare, target=Target()), *_counted(long)]


def _ranges(evening: Evening) -> dict[str, Visit]:
    """Two bytes of a film, hence only what it costs to ask who may see it."""
    copy = Rendition.objects.filter(clip__comments__reviews=evening.review)[0]
    path = Path(copy.file.path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"a film")
    address = reverse("recordings:film", args=[copy.code])
    return {
        "two bytes of film, coach": _visit(evening.coach, address, span="bytes=1-2"),
        "two bytes of film, guardian": _visit(evening.guardian, address, span="bytes=1-2"),
    }


def _visit(user: User, address: str, *, span: str = "") -> Visit:
    client = Client(SERVER_NAME="localhost", headers={"Range": span} if span else {})
    client.force_login(user)
    show_factor(client)

    def visit() -> None:
        response = client.get(address)
        assert response.status_code == (206 if span else 200), (address, response.status_code)
        if span:
            response.getvalue()

    return visit


def _processor(visits: dict[str, Visit], bare: Visit, *, target: Target = AT_MOST) -> list[Row]:
    for warm in (bare, *visits.values()):
        warm()
    works = {name: partial(_milliseconds, visit, PAGE_VISITS) for name, visit in visits.items()}
    found = in_turn({"": partial(_milliseconds, bare, BARE_VISITS), **works}, runs=RUNS)
    limit = found.pop("")
    return [
        Row.of(name, ours, limit, unit="ms", beside="a bare signed-in view", target=target)
        for name, ours in found.items()
    ]


def _milliseconds(visit: Visit, times: int) -> float:
    """Of this process's processors for one visit; SQLite works in the same process."""
    before = time.process_time()
    for _ in range(times):
        visit()
    return (time.process_time() - before) / times * 1000


def _counted(visits: dict[str, Visit]) -> list[Row]:
    return [
        Row.of(
            name,
            [_queries(visit)],
            [MOST_QUERIES],
            unit="queries",
            beside="what a page may ask",
            target=NO_MORE,
        )
        for name, visit in visits.items()
    ]


def _queries(visit: Visit) -> int:
    # A process reads the squad's words once.
    visit()
    with CaptureQueriesContext(connection) as queries:
        visit()
    return len(queries)
