"""Which mails somebody gets: what their page asks, and what is made of the answer."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail, Stop
from portal.people.models import Swimmer, User

Kind = OutgoingMail.Kind


@dataclass(frozen=True)
class Choice:
    """One box: ticked means that the mail comes."""

    field: str
    swimmer: Swimmer | None
    is_wanted: bool


@dataclass(frozen=True)
class Question:
    kind: Kind
    whole: Choice
    children: list[Choice]


def questions(reader: User, children: Collection[Swimmer]) -> list[Question]:
    """One query. Children are asked about one by one where there are several."""
    rows = Stop.objects.filter(recipient=reader).values_list("kind", "swimmer_id")
    gone: set[tuple[str, int | None]] = set(rows)
    several = children if len(children) > 1 else []
    return [
        Question(
            kind,
            Choice(_field(kind, None), None, (kind, None) not in gone),
            [Choice(_field(kind, child), child, (kind, child.pk) not in gone) for child in several],
        )
        for kind in Stop.KINDS
    ]


def keep(asked: list[Question], ticked: Collection[str], *, by: User, at: datetime) -> None:
    """Changes what differs."""
    for question in asked:
        for choice in (question.whole, *question.children):
            wanted = choice.field in ticked
            if wanted != choice.is_wanted:
                change = stopping.go_on if wanted else stopping.stop
                change(by, question.kind, at=at, swimmer=choice.swimmer)


def _field(kind: Kind, child: Swimmer | None) -> str:
    return f"{kind.replace(' ', '-')}:{child.code if child else 'all'}"
