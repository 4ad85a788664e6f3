"""What swimmers' open items cost, and publishing with its summaries, as observations grow."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from uuid import uuid4

import numpy as np
from django.db import connection, transaction

from portal.items import rebuilding
from portal.items.models import ItemSummary, Observation, Verdict
from portal.items.needing import open_items
from portal.items.observing import observe
from portal.people.models import Club, Swimmer
from portal.recordings.models import Session
from portal.technique.models import Fault
from tests.bench.measuring import Cost, Row, Target, in_turn
from tests.cast import DAY, NOW, Cast

SIZES = 10_000, 100_000, 1_000_000
SESSIONS, TAGS = 10, 10
EACH = SESSIONS * TAGS
SQUAD, CLUB = 40, 600
RUNS, WRITES = 9, 40
VISITS = 20
YARD = "what does not grow"
AS_FAST, BESIDE_BARE = Target(at_most=1.2), Target(at_most=1.5)

Work = Callable[[], object]


def sums(cast: Cast, _folder: Path) -> list[Row]:
    faults = list(Fault.objects.current().for_stroke("breast").select_related("checkpoint")[:24])
    sessions = [_session(cast, week) for week in range(SESSIONS)]
    rows: list[Row] = []
    first: dict[str, list[float]] = {}
    for size in SIZES:
        _grow(cast, sessions, faults, to=size // EACH)
        swimmers = list(Swimmer.objects.filter(observations__session=sessions[0]).distinct())
        found = _seconds(_reading(swimmers))
        # Milliseconds, as one list for each read; the smallest portal that has as many swimmers.
        for name, seconds in found.items():
            if name in first and name != YARD:
                before = _as_today(first[name], then=first[YARD], now=found[YARD])
                rows.append(_grown(name, size, seconds, before))
            first.setdefault(name, seconds)
        rows.append(_publishing(cast, swimmers, faults, size))
    return rows


def _as_today(
    before: Sequence[float], *, then: Sequence[float], now: Sequence[float]
) -> list[float]:
    """What was measured minutes ago, as it would be on the machine as it is now: the same page of
    Django costs more or less while others work."""
    pace = median(now) / median(then)
    return [each * pace for each in before]


def _grown(name: str, size: int, seconds: Sequence[float], before: Sequence[float]) -> Row:
    return Row.of(
        f"{name}, {size:,} observations",
        [1000 * each for each in seconds],
        [1000 * each for each in before],
        unit="ms",
        beside="the same in the smallest portal",
        target=AS_FAST if name == "one swimmer" else None,
    )


def _reading(swimmers: Sequence[Swimmer]) -> dict[str, Work]:
    middle = swimmers[len(swimmers) // 2]
    reads: dict[str, Work] = {
        YARD: lambda: [list(Club.objects.order_by("pk")) for _ in range(VISITS)],
        "one swimmer": lambda: [open_items(middle, "breast") for _ in range(VISITS)],
    }
    for name, count in {"squad of 40": SQUAD, "club of 600": CLUB}.items():
        if len(swimmers) >= count:
            reads[name] = _shares(swimmers[:count])
    return reads


def _shares(swimmers: Sequence[Swimmer]) -> Work:
    """The states of everybody's items, as a squad's page counts them."""
    found = ItemSummary.objects.filter(swimmer__in=[each.pk for each in swimmers])
    return lambda: list(found.values_list("swimmer", "fault", "state"))


def _seconds(works: dict[str, Work]) -> dict[str, list[float]]:
    """Of processor: nothing here waits for a disk."""

    def timed(work: Work) -> Callable[[], float]:
        return lambda: Cost.of(work).cpu

    for work in works.values():
        work()
    return in_turn({name: timed(work) for name, work in works.items()}, runs=RUNS)


def _publishing(cast: Cast, swimmers: Sequence[Swimmer], faults: Sequence[Fault], size: int) -> Row:
    """Ten observations of one session each, of another swimmer every time; the disk has them
    before the call returns, with ours and without."""
    chosen = iter(swimmers)
    dice = np.random.default_rng(size)
    where = _session(cast, -1)

    def rows() -> list[Observation]:
        return _said(cast, next(chosen), where, faults, dice)

    def publish(work: Callable[[list[Observation]], object]) -> Callable[[], float]:
        def timed() -> float:
            fresh = rows()
            return 1000 * Cost.of(lambda: work(fresh)).wall

        return timed

    def bare(fresh: list[Observation]) -> None:
        with transaction.atomic():
            Observation.objects.bulk_create(fresh)

    def ours(fresh: list[Observation]) -> None:
        observe(fresh[0].review_code, fresh)

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=FULL")
        found = in_turn({"ours": publish(ours), "bare": publish(bare)}, runs=WRITES)
        cursor.execute("PRAGMA synchronous=NORMAL")
    return Row.of(
        f"publishing, {size:,} observations",
        found["ours"],
        found["bare"],
        unit="ms",
        beside="a bare durable insert of the same rows",
        target=BESIDE_BARE,
    )


def _grow(cast: Cast, sessions: Sequence[Session], faults: Sequence[Fault], *, to: int) -> None:
    """Until the club has so many swimmers with a season's observations each."""
    dice = np.random.default_rng(to)
    already = Swimmer.objects.filter(last_name="Bench").count()
    fresh = Swimmer.objects.bulk_create(
        [
            Swimmer(club=cast.club, first_name=f"No {n}", last_name="Bench", born=date(2012, 1, 1))
            for n in range(already, to)
        ]
    )
    for swimmer in fresh:
        Observation.objects.bulk_create(
            each for where in sessions for each in _said(cast, swimmer, where, faults, dice)
        )
    rebuilding.rebuild()


def _said(
    cast: Cast,
    swimmer: Swimmer,
    where: Session,
    faults: Sequence[Fault],
    dice: np.random.Generator,
) -> list[Observation]:
    """Ten tags of one review, half of them praise."""
    review = uuid4()
    picked = dice.choice(len(faults), TAGS, replace=False)
    return [
        Observation(
            swimmer=swimmer,
            session=where,
            date=where.date,
            stroke="breast",
            checkpoint=faults[place].checkpoint,
            fault=None if praised else faults[place],
            verdict=Verdict.GOOD if praised else Verdict.WORK_ON,
            source=Observation.Source.DECK,
            coach=cast.coach,
            review_code=review,
            at=NOW,
        )
        for place, praised in zip(picked, dice.random(TAGS) < 0.5, strict=True)
    ]


def _session(cast: Cast, weeks_ago: int) -> Session:
    return Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY - timedelta(weeks=weeks_ago),
        created_by=cast.coach,
        created_at=NOW,
    )
