"""A list against what the club has: what would be added, what differs, what stays.

A list only adds and moves. Whoever is missing from it stays, and is shown; a tie that was ended
is not begun again by an old list; and a child is never taken for another of the same name.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db import transaction

from portal.people.ages import GROWN_UP, age
from portal.people.models import Guardianship, Squad, SquadPlace, Swimmer, User
from portal.roster import enrolling, inviting, moving, wording
from portal.roster.enrolling import Newcomer
from portal.roster.parsing import Line, Listed, Named


@dataclass(frozen=True)
class Change:
    """What the list says otherwise about a swimmer whom the club has."""

    swimmer: Swimmer
    name: tuple[str, str] | None = None
    squad: Squad | None = None
    guardians: tuple[Named, ...] = ()
    ended: tuple[Named, ...] = ()
    """Named in the list although their tie has ended: it stays so."""

    @property
    def is_news(self) -> bool:
        return bool(self.name or self.squad or self.guardians)


@dataclass(frozen=True)
class Comparison:
    added: list[Newcomer] = field(default_factory=list)
    differing: list[Change] = field(default_factory=list)
    staying: list[Change] = field(default_factory=list)
    missing: list[Swimmer] = field(default_factory=list)
    """Of the squads in the list; they stay where they are."""
    faulty: list[tuple[Line, list[str]]] = field(default_factory=list)

    @property
    def has_news(self) -> bool:
        return bool(self.added or self.differing) and not self.faulty

    @property
    def mark(self) -> str:
        """Two comparisons with one mark would change the same."""
        added = [(n.first_name, n.last_name, n.born, n.squad.pk, n.guardians) for n in self.added]
        changed = [
            (c.swimmer.pk, c.name, c.squad and c.squad.pk, c.guardians) for c in self.differing
        ]
        return hashlib.sha256(repr((added, changed)).encode()).hexdigest()


@dataclass(frozen=True)
class Known:
    """What the club has, as far as a list can speak of it. Four queries."""

    squads: dict[str, Squad]
    swimmers: dict[tuple[str, str], list[Swimmer]]
    places: dict[int, set[int]]
    """Squads of today by swimmer."""
    ties: dict[int, dict[str, bool]]
    """By swimmer and address, whether the tie has ended."""

    @classmethod
    def of(cls, squad: Squad, *, on: date) -> Known:
        swimmers: dict[tuple[str, str], list[Swimmer]] = defaultdict(list)
        places: dict[int, set[int]] = defaultdict(set)
        ties: dict[int, dict[str, bool]] = defaultdict(dict)
        for swimmer in Swimmer.objects.filter(club=squad.club_id).select_related("club"):
            names = swimmer.first_name.casefold(), swimmer.last_name.casefold()
            swimmers[names].append(swimmer)
        for place in SquadPlace.objects.on(on).filter(swimmer__club=squad.club_id):
            places[place.swimmer_id].add(place.squad_id)
        rows = Guardianship.objects.filter(swimmer__club=squad.club_id).order_by("starts")
        for swimmer_id, address, ends in rows.values_list("swimmer", "guardian__email", "ends"):
            ties[swimmer_id][address] = ends is not None and ends <= on
        squads = Squad.objects.filter(club=squad.club_id).select_related("club")
        return cls({each.name.casefold(): each for each in squads}, swimmers, places, ties)


def compare(listed: Listed, *, squad: Squad, on: date) -> Comparison:
    """`squad` is meant where a line names none."""
    known, found = Known.of(squad, on=on), Comparison()
    mentioned, seen = {squad.pk}, set()
    for line in listed.lines:
        home = known.squads.get(line.squad.casefold()) if line.squad else squad
        problems = wording.faults(line)
        if home is None:
            names = sorted(each.name for each in known.squads.values())
            problems.append(wording.no_such_squad(line.squad, names))
        if problems or home is None or line.born is None:
            found.faulty.append((line, problems))
            continue
        mentioned.add(home.pk)
        swimmer, problem = _swimmer(line, known)
        if problem:
            found.faulty.append((line, [problem]))
        elif swimmer:
            seen.add(swimmer.pk)
            change = _change(swimmer, line, home, known, on)
            (found.differing if change.is_news else found.staying).append(change)
        else:
            found.added.append(
                Newcomer(line.first_name, line.last_name, line.born, home, _guardians(line, on))
            )
    found.missing.extend(_missing(known, mentioned=mentioned, seen=seen))
    return found


def _swimmer(line: Line, known: Known) -> tuple[Swimmer | None, str]:
    """Whoever has the same name and another birthday may be another child: somebody has to say."""
    namesakes = known.swimmers.get((line.first_name.casefold(), line.last_name.casefold()), [])
    same = next((each for each in namesakes if each.born == line.born), None)
    if same or not namesakes:
        return same, ""
    return None, wording.another_birthday(namesakes[0])


def _change(swimmer: Swimmer, line: Line, home: Squad, known: Known, on: date) -> Change:
    ties = known.ties.get(swimmer.pk, {})
    name = (line.first_name, line.last_name)
    is_there = home.pk in known.places.get(swimmer.pk, set())
    return Change(
        swimmer,
        name=None if name == (swimmer.first_name, swimmer.last_name) else name,
        squad=None if is_there else home,
        guardians=tuple(g for g in _guardians(line, on) if g.address not in ties),
        ended=tuple(g for g in line.guardians if ties.get(g.address)),
    )


def _guardians(line: Line, on: date) -> tuple[Named, ...]:
    """A grown-up has none."""
    is_child = line.born is not None and age(line.born, on=on) < GROWN_UP
    return line.guardians if is_child else ()


def _missing(known: Known, *, mentioned: set[int], seen: set[int]) -> Iterator[Swimmer]:
    for swimmers in known.swimmers.values():
        for swimmer in swimmers:
            if known.places.get(swimmer.pk, set()) & mentioned and swimmer.pk not in seen:
                yield swimmer


class Outdated(Exception):
    """Since the preview was shown the club has changed, and with it what the list would do."""


@transaction.atomic
def take_over(
    listed: Listed, *, squad: Squad, mark: str, on: date, by: User, at: datetime
) -> Comparison:
    """What the preview with that mark has shown, all of it or nothing. Raises Outdated, and what
    the verbs raise."""
    found = compare(listed, squad=squad, on=on)
    if not found.has_news or found.mark != mark:
        raise Outdated
    ties = []
    for change in found.differing:
        swimmer = change.swimmer
        if change.name:
            first, last = change.name
            enrolling.correct(
                swimmer, first_name=first, last_name=last, born=swimmer.born, by=by, at=at
            )
        if change.squad:
            moving.move(swimmer, to=change.squad, on=on, by=by, at=at)
        ties += [
            enrolling.name_guardian(swimmer, named, on=on, by=by, at=at)
            for named in change.guardians
        ]
    for newcomer in found.added:
        ties += enrolling.take_in(newcomer, on=on, by=by, at=at)[1]
    inviting.invite_guardians(ties, by=by, at=at)
    return found
