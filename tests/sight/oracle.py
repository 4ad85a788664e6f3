"""Who sees what, said a second time in plain words: no database, no query, no word of the portal's.

Everything is looked up in sets of tuples that the machine in `test_machine` fills. It is slow,
and meant to be read beside the house's manners.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

Pair = tuple[str, str]
STAFF = ("head coach", "coach", "assistant")


@dataclass
class Film:
    squad: str
    clips: dict[str, set[str]] = field(default_factory=dict)
    """By clip, who swims in it."""
    marks: set[str] = field(default_factory=set)
    """Of "held", "not to be shown" and "thrown away"."""


@dataclass
class Plain:
    today: date
    now: datetime
    roles: set[tuple[str, str, str]] = field(default_factory=set)
    """Person, role, and squad or club; as they stand."""
    home: dict[str, str] = field(default_factory=dict)
    """Club by squad."""
    born: dict[str, date] = field(default_factory=dict)
    account: dict[str, str] = field(default_factory=dict)
    """Person by swimmer."""
    squad: dict[str, str] = field(default_factory=dict)
    """Where each swimmer swims today; nowhere for who has left."""
    left: set[str] = field(default_factory=set)
    guards: set[Pair] = field(default_factory=set)
    waits: set[Pair] = field(default_factory=set)
    """Guardians who have not answered the club's invitation."""
    barred: set[Pair] = field(default_factory=set)
    granted: set[Pair] = field(default_factory=set)
    said: dict[tuple[str, str, str], bool] = field(default_factory=dict)
    """Person, swimmer and purpose; what they said last, while it counts."""
    suspended: set[Pair] = field(default_factory=set)
    """Person and club."""
    looking_until: dict[str, datetime] = field(default_factory=dict)
    films: dict[str, Film] = field(default_factory=dict)
    hidden: set[str] = field(default_factory=set)
    removed: set[str] = field(default_factory=set)
    shown: set[Pair] = field(default_factory=set)
    """Clip and swimmer."""
    out: set[Pair] = field(default_factory=set)
    """Film and swimmer whose review of that film's session is published."""

    def age(self, swimmer: str) -> int:
        years, birthday = 0, self.born[swimmer]
        while True:
            turn = birthday.year + years + 1
            leap = birthday.month == 2 and birthday.day == 29
            day = date(turn, 3, 1) if leap and turn % 4 else birthday.replace(year=turn)
            if day > self.today:
                return years
            years += 1

    def answerers(self, swimmer: str) -> set[str]:
        if self.age(swimmer) >= 18:
            return {self.account[swimmer]} if swimmer in self.account else set()
        return {person for person, child in self.named() if child == swimmer}

    def readers(self) -> set[Pair]:
        """Guardians and the swimmers for whom they read today, whatever else they are."""
        return self.named() - self.waits

    def named(self) -> set[Pair]:
        """The same, and who may sign a form although they have not come in yet."""
        return {
            (person, swimmer)
            for person, swimmer in self.guards - self.barred
            if (self.age(swimmer) < 18 or (person, swimmer) in self.granted)
            and not self._is_out(person, swimmer)
        }

    def yes(self, swimmer: str, purpose: str) -> bool:
        answers = self._answers(swimmer, purpose)
        return True in answers and False not in answers

    def no(self, swimmer: str, purpose: str) -> bool:
        return False in self._answers(swimmer, purpose)

    def family(self, person: str) -> set[str]:
        own = {
            swimmer
            for swimmer, name in self.account.items()
            if name == person and self._may_sign_in(swimmer) and not self._is_out(person, swimmer)
        }
        return own | {swimmer for name, swimmer in self.readers() if name == person}

    def does(self, person: str, *roles: str, squad: str) -> bool:
        club = self.home[squad]
        places = {squad, club}
        if (person, club) in self.suspended:
            return False
        return any((person, role, place) in self.roles for role in roles for place in places)

    def oversees(self, person: str, squad: str) -> bool:
        is_volunteer = self.does(person, "volunteer", squad=squad)
        looks = is_volunteer and self.looking_until.get(person, self.now) > self.now
        return looks or self.does(person, "welfare officer", squad=squad)

    def reads(self, person: str, film: str, swimmer: str) -> bool:
        """The swimmer's review of that session."""
        squad = self.films[film].squad
        if self.does(person, "head coach", squad=squad):
            return True
        if self.does(person, "coach", "assistant", squad=squad) and swimmer not in self.left:
            return True
        if (film, swimmer) not in self.out:
            return False
        return (
            swimmer in self.family(person)
            or self.does(person, "second adult", squad=squad)
            or self.oversees(person, squad)
            or self._coaches_today(person, swimmer)
        )

    def watches(self, person: str, film: str, clip: str) -> bool:
        """The pictures of one clip."""
        shot = self.films[film]
        swimmers = shot.clips[clip]
        if clip in self.removed or "thrown away" in shot.marks:
            return False
        if any(self.no(swimmer, "film") for swimmer in swimmers):
            return False
        if self.does(person, "welfare officer", squad=shot.squad):
            return True
        if clip in self.hidden or "held" in shot.marks:
            return False
        if self.does(person, "head coach", squad=shot.squad) or self.oversees(person, shot.squad):
            return True
        is_coach = self.does(person, "coach", "assistant", squad=shot.squad)
        if is_coach and not swimmers & self.left:
            return True
        may_be_shown = all(self.yes(swimmer, "show") for swimmer in swimmers)
        is_open = may_be_shown and "not to be shown" not in shot.marks
        return is_open and self._is_shown(person, clip, squad=shot.squad)

    def _is_shown(self, person: str, clip: str, *, squad: str) -> bool:
        return any(
            each == clip
            and (
                to in self.family(person)
                or self.does(person, "second adult", squad=squad)
                or self._coaches_today(person, to)
            )
            for each, to in self.shown
        )

    def watches_whole(self, person: str, film: str) -> bool:
        shot = self.films[film]
        is_officer = self.does(person, "welfare officer", squad=shot.squad)
        works = self.does(person, *STAFF, squad=shot.squad)
        if "thrown away" in shot.marks or not (works or self.oversees(person, shot.squad)):
            return False
        if "held" in shot.marks and not is_officer:
            return False
        if any(self.no(one, "film") for swimmers in shot.clips.values() for one in swimmers):
            return False
        return is_officer or not (set(shot.clips) & self.hidden)

    def _answers(self, swimmer: str, purpose: str) -> set[bool]:
        grown_up = self.age(swimmer) >= 18
        return {
            given
            for (person, child, asked), given in self.said.items()
            if (child, asked) == (swimmer, purpose)
            and (not grown_up or self.account.get(swimmer) == person)
        }

    def _may_sign_in(self, swimmer: str) -> bool:
        age = self.age(swimmer)
        return age >= 18 or (age >= 13 and self.yes(swimmer, "sign in"))

    def _coaches_today(self, person: str, swimmer: str) -> bool:
        squad = self.squad.get(swimmer)
        return squad is not None and self.does(person, "coach", "assistant", squad=squad)

    def _is_out(self, person: str, swimmer: str) -> bool:
        return any(
            name == person and club == self.home_of(swimmer) for name, club in self.suspended
        )

    def home_of(self, _swimmer: str) -> str:
        """All who are filmed here swim in one club."""
        return "Otterbrook"
