"""A squad at one look: what to practise, whom nobody has looked at, and what was tried."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median
from typing import NamedTuple

from portal.items import outlasting, refreshing
from portal.items.outlasting import Episode, Point
from portal.items.pairing import kappa
from portal.items.recurrence import Look, Said, Standing, State, looks, stand, standings
from portal.people.models import Squad, SquadPlace, Swimmer, User
from portal.progress import tallying
from portal.progress.gathering import Published, Term, Terms
from portal.progress.tallying import Bar, Cohort, Pair, Trial
from portal.recordings.models import Clip
from portal.review.lapsing import lapsed
from portal.review.models import Comment, Review
from portal.technique.models import Drill, Stroke

RECENT = timedelta(days=28)
MOST_BARS, MOST_PAIRS = 8, 3

Items = Mapping[refreshing.Item, list[Said]]


@dataclass(frozen=True)
class Theme:
    """An item of the squad, with its names."""

    bar: Bar
    term: Term
    stroke: str
    active: list[Swimmer]
    cohort: Cohort | None


class Filmed(NamedTuple):
    swimmer: Swimmer
    day: date


@dataclass(frozen=True)
class Fixes:
    """How long items of this squad stayed open."""

    points: list[Point]
    fixed: int
    episodes: int
    swimmers: int
    """Of whom something was fixed."""
    may_be_told: bool


@dataclass(frozen=True)
class Agreement:
    one: str
    other: str
    clips: int
    value: float | None


@dataclass(frozen=True)
class Trials:
    """Drills by name, with what came of items that had none."""

    pooled: Trial
    without: Trial
    by_drill: list[tuple[Drill, Trial]]


@dataclass(frozen=True)
class Muster:
    swimmers: list[Swimmer]
    reviewed: set[int]
    themes: list[Theme]
    more: int
    """Items open for somebody beyond those."""
    silences: list[tuple[Swimmer, timedelta | None]]
    """Who had nothing lately, and since when; None: never."""
    usual: timedelta | None
    """The squad's median."""
    """Median of days since the last review."""
    filmed: list[Filmed]
    fixes: Fixes
    trials: Trials
    pairs: list[tuple[Term, Term, Pair]]
    agreements: list[Agreement]
    disputed: int


def muster(squad: Squad, *, on: date) -> Muster:
    """Eight queries, and one for names where two coaches saw the same clips."""
    places = SquadPlace.objects.on(on).filter(squad=squad).select_related("swimmer")
    swimmers = sorted((place.swimmer for place in places), key=lambda each: (each.name, each.pk))
    ids = [each.pk for each in swimmers]
    by_id = {each.pk: each for each in swimmers}
    reviews = _reviews(ids)
    newest: dict[int, date | None] = dict.fromkeys(ids)
    for review in reviews:
        newest[review.swimmer] = max(newest[review.swimmer] or review.date, review.date)
    said = refreshing.said_of(ids)
    terms = Terms.of((item for items in said.values() for item in items), club=squad.club_id)
    found = {who: {k: looks(words) for k, words in items.items()} for who, items in said.items()}
    standing = {who: _with_neighbours(found.get(who, {}), terms) for who in ids}
    bars = tallying.bars(standing)
    ages = [(on - day).days for day in newest.values() if day]
    return Muster(
        swimmers=swimmers,
        reviewed={review.swimmer for review in reviews},
        themes=[_theme(bar, terms, by_id, found, on=on) for bar in bars[:MOST_BARS]],
        more=max(0, len(bars) - MOST_BARS),
        silences=[(by_id[who], since) for who, since in lapsed(newest, on=on).items()],
        usual=timedelta(days=median(ages)) if ages else None,
        filmed=_filmed(squad, by_id, reviews, on=on),
        fixes=_fixes(found),
        trials=_trials(found, ids),
        pairs=_pairs(standing, terms),
        agreements=_agreements(said),
        disputed=sum(each.disputed for items in standing.values() for each in items.values()),
    )


def _reviews(swimmers: list[int]) -> list[Published]:
    rows = Review.objects.published().filter(swimmer__in=swimmers).order_by()
    columns = ("swimmer_id", "code", "session_id", "session__date", "session__squad_id")
    return [Published._make(row) for row in rows.values_list(*columns)]


def _with_neighbours(
    items: Mapping[refreshing.Item, list[Look]], terms: Terms
) -> dict[tallying.Key, Standing]:
    """Who was only praised on a checkpoint is clean on each fault of it that others have."""
    found: dict[tallying.Key, Standing] = {}
    for item, seen in items.items():
        for each in [item] if item.fault else terms.faults_of(item.point):
            found[each] = stand(seen)
    return found


def _theme(
    bar: Bar,
    terms: Terms,
    swimmers: Mapping[int, Swimmer],
    found: Mapping[int, Mapping[refreshing.Item, list[Look]]],
    *,
    on: date,
) -> Theme:
    item: refreshing.Item = bar.item
    praised = refreshing.Item(item.point, None)
    of_item = {who: items.get(item) or items.get(praised) or [] for who, items in found.items()}
    return Theme(
        bar=bar,
        term=terms.term(item),
        stroke=str(Stroke(item.point.stroke).label),
        active=[swimmers[who] for who in bar.active],
        cohort=tallying.cohort(of_item, middle=on - RECENT, starts=on - 2 * RECENT),
    )


def _filmed(
    squad: Squad, swimmers: Mapping[int, Swimmer], reviews: list[Published], *, on: date
) -> list[Filmed]:
    """The newest day of each who was filmed lately and whose review of it is not out."""
    out = {(review.swimmer, review.session) for review in reviews}
    rows = Clip.swimmers.through.objects.filter(
        swimmer__in=swimmers,
        clip__removed_at=None,
        clip__recording__thrown_away_at=None,
        clip__recording__session__squad=squad,
        clip__recording__session__date__gt=on - RECENT,
    )
    columns = ("swimmer_id", "clip__recording__session_id", "clip__recording__session__date")
    days: dict[int, date] = {}
    for who, session, day in rows.values_list(*columns).distinct().order_by():
        if (who, session) not in out:
            days[who] = max(days.get(who, day), day)
    return [Filmed(swimmers[who], days[who]) for who in swimmers if who in days]


def _fixes(found: Mapping[int, Mapping[refreshing.Item, list[Look]]]) -> Fixes:
    episodes: list[tuple[int, Episode]] = []
    for who, items in found.items():
        for seen in items.values():
            if each := outlasting.episode(seen):
                episodes.append((who, each))
    fixed = [who for who, each in episodes if each.is_fixed]
    return Fixes(
        points=outlasting.curve(each for _, each in episodes),
        fixed=len(fixed),
        episodes=len(episodes),
        swimmers=len(set(fixed)),
        may_be_told=outlasting.may_be_told(episodes),
    )


def _trials(
    found: Mapping[int, Mapping[refreshing.Item, list[Look]]], swimmers: list[int]
) -> Trials:
    given = _given(swimmers)
    pooled, without = Trial(), Trial()
    by_drill: dict[Drill, Trial] = defaultdict(Trial)
    for who, items in found.items():
        for item, seen in items.items():
            began = _began(seen)
            if began is None or item.fault is None:
                continue
            after = [each for each in given.get((who, item.fault), []) if each[0] >= began]
            if not after:
                without = without.plus(tallying.got_clean(seen, since=began))
                continue
            since, drill = after[0]
            answer = tallying.got_clean(seen, since=since)
            pooled, by_drill[drill] = pooled.plus(answer), by_drill[drill].plus(answer)
    listed = sorted(by_drill.items(), key=lambda pair: (-pair[1].of, pair[0].order))
    return Trials(pooled, without, [(drill, trial) for drill, trial in listed if trial.of])


def _began(seen: list[Look]) -> tuple[date, int] | None:
    """The look that made it recurring."""
    counted = [look for look in seen if look.counts]
    for look, now in zip(counted, standings(counted), strict=True):
        if now.state == State.RECURRING:
            return look.day, look.session
    return None


def _given(swimmers: list[int]) -> dict[tuple[int, int], list[tuple[tuple[date, int], Drill]]]:
    """Drills of reviews that are out, by swimmer and fault, oldest first."""
    comments = Comment.objects.kept().filter(
        drill__isnull=False,
        fault__isnull=False,
        reviews__swimmer__in=swimmers,
        reviews__state=Review.State.PUBLISHED,
    )
    found: dict[tuple[int, int], list[tuple[tuple[date, int], Drill]]] = defaultdict(list)
    columns = ("reviews__swimmer", "fault__merged_into", "fault", "session__date", "session")
    rows = comments.values_list(*columns, "drill", "drill__name", "drill__order")
    for who, merged, fault, day, session, pk, name, order in rows.order_by("session__date", "id"):
        drill = Drill(pk=pk, name=name, order=order)
        found[who, merged or fault].append(((day, session), drill))
    return found


def _pairs(standing: tallying.Standings, terms: Terms) -> list[tuple[Term, Term, Pair]]:
    found = tallying.pairs(standing)[:MOST_PAIRS]
    return [(terms.term(one.first), terms.term(one.second), one) for one in found]


def _agreements(said: Mapping[int, Items]) -> list[Agreement]:
    """One query, and none unless two coaches saw the same."""
    seen = tallying.doubles(pair for items in said.values() for pair in items.items())
    if not seen:
        return []
    ids = {coach for both in seen for coach in both}
    names = dict(User.objects.filter(pk__in=ids).values_list("pk", "name"))
    return [
        Agreement(names[one], names[other], len(both), kappa(both))
        for (one, other), both in sorted(seen.items(), key=lambda pair: -len(pair[1]))
    ]
