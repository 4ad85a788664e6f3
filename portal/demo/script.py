"""Who is in the demo club, all of them invented, and what its sessions are made of.

The sessions themselves are words and numbers and stand in sessions.toml; see reading.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from portal.items.models import Verdict
from portal.people.models import Course, Membership
from portal.recordings.models import Effort, Session, View
from portal.technique.models import Stroke

CLUB = "Otterbrook Swimming Club"
POLICY_EDITION = "3"
POLICY = """We film at practice, to look at strokes, starts and turns, and for nothing else.

One of the coaches or the assistant holds the camera, and a second adult is at the pool. We never \
film in changing rooms, behind the blocks or when somebody climbs out of the water.

Film is seen here, behind a sign-in: by the swimmer, the family, the squad’s coaches, its second \
adult and the welfare officer. It is not sent about and not put on the web.

Whoever says no is coached from the deck. No answer costs anybody a place."""
SHORT_POOL, LONG_POOL = "Quay Street Baths", "Weir Park"
POOLS = {SHORT_POOL: Course.SHORT, LONG_POOL: Course.LONG}
JUNIORS, YOUTH = "Juniors", "Youth"
MEET = "Winter Open"
ENTRIES = """Jonas Falk; 50 breast; 100 breast
Noor Haan; 50 breast; 100 IM
Kenji Mori; 50 breast
Elif Aydin; 100 breast; 50 free
Sanne Vos; 50 breast
Tomasz Wilk; 100 fly; 200 IM
Amara Obi; 100 breast; 100 fly
"""
Role = Membership.Role


def address_of(name: str, *, place: str) -> str:
    """In a domain that never exists."""
    return f"{name.lower().replace(' ', '.')}@{place}.example"


@dataclass(frozen=True)
class Adult:
    name: str
    role: Role | None = None
    squads: tuple[str, ...] = ()

    @property
    def address(self) -> str:
        return address_of(self.name, place="otterbrook")


HEAD_COACH = Adult("Greta Holm", Role.HEAD_COACH)
COACH = Adult("Marta Lind", Role.COACH, (JUNIORS, YOUTH))
ASSISTANT = Adult("Dov Merrin", Role.ASSISTANT, (JUNIORS, YOUTH))
WELFARE = Adult("Wanda Okoro", Role.WELFARE)
SECOND_RECIPIENT = Adult("Nils Aske", Role.SECOND_RECIPIENT)
VOLUNTEER = Adult("Vera Nagy", Role.VOLUNTEER)
# They read every published word in their squad, so that no adult speaks to a child alone.
SECOND_ADULTS = {JUNIORS: Adult("Tom Varga"), YOUTH: Adult("Priya Nair")}
STAFF = (
    HEAD_COACH,
    COACH,
    ASSISTANT,
    WELFARE,
    SECOND_RECIPIENT,
    VOLUNTEER,
    *SECOND_ADULTS.values(),
)


class Answers(StrEnum):
    """What a guardian answers to the questions before filming."""

    ALL_YES = "yes to everything"
    NO_MAIL_STILLS = "no pictures in mail"
    NO_FILM = "no filming"


@dataclass(frozen=True)
class Child:
    name: str
    squad: str
    age: int
    guardians: dict[str, Answers]
    has_account: bool = False


SWIMMERS = (
    Child("Jonas Falk", JUNIORS, 11, {"Ada Falk": Answers.ALL_YES}),
    Child("Noor Haan", JUNIORS, 11, {"Samir Haan": Answers.ALL_YES}),
    Child("Kenji Mori", JUNIORS, 11, {"Yuki Mori": Answers.ALL_YES}),
    Child("Mateo Rivas", JUNIORS, 11, {"Lucia Rivas": Answers.ALL_YES}),
    Child("Elif Aydin", JUNIORS, 11, {"Deniz Aydin": Answers.NO_MAIL_STILLS}),
    Child("Sanne Vos", JUNIORS, 11, {"Pieter Vos": Answers.ALL_YES}),
    Child("Freya Dahl", JUNIORS, 11, {"Lars Dahl": Answers.NO_FILM}),
    # Two households that disagree about pictures in mail.
    Child(
        "Ines Falk",
        YOUTH,
        14,
        {"Ada Falk": Answers.ALL_YES, "Bela Korda": Answers.NO_MAIL_STILLS},
        has_account=True,
    ),
    Child("Tomasz Wilk", YOUTH, 14, {"Ewa Wilk": Answers.ALL_YES}, has_account=True),
    Child("Amara Obi", YOUTH, 14, {"Chidi Obi": Answers.ALL_YES}, has_account=True),
)


@dataclass(frozen=True)
class Remark:
    """A comment at the `turn`-th time that `event` happens in the piece of footage."""

    event: str
    turn: int
    verdict: Verdict
    tag: str
    words: str
    cue: str = ""
    drill: str = ""
    dose: str = ""
    is_focus: bool = False
    angle: str = ""
    """Three joints of the truth file, if one is drawn there."""


@dataclass(frozen=True)
class Piece:
    """One swimmer's part of a recording: footage, and the frames of it kept as a clip."""

    footage: str
    swimmer: str
    first: int
    last: int
    stroke: Stroke = Stroke.BREAST
    effort: Effort = Effort.PRACTICE
    by: Adult = COACH
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True)
class Take:
    """One recording. Its file is the footage of `pieces`, then of `unsorted`, end to end."""

    name: str
    view: View
    pieces: tuple[Piece, ...] = ()
    unsorted: tuple[str, ...] = ()
    swimmers: tuple[str, ...] = ()
    """Of `unsorted`, for the film list."""

    @property
    def footage(self) -> list[str]:
        return [*(piece.footage for piece in self.pieces), *self.unsorted]


@dataclass(frozen=True)
class Practice:
    squad: str
    days_ago: int
    theme: str
    pool: str = SHORT_POOL
    kind: Session.Kind = Session.Kind.PRACTICE
    takes: tuple[Take, ...] = ()
    published: frozenset[str] = field(default_factory=frozenset)
    """Names of the swimmers whose review goes out."""
