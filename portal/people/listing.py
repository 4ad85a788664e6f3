"""Answers as the staff's pages list them, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from portal.people.models import Consent, Squad, Swimmer
from portal.people.questions import FOUR, Question, questions_for


@dataclass(frozen=True)
class Row:
    """A swimmer of the squad, and to each of the four questions yes, no or nothing yet."""

    swimmer: Swimmer
    words: list[str]

    @property
    def is_open(self) -> bool:
        return "" in self.words


@dataclass(frozen=True)
class About:
    question: Question
    word: str
    answers: Sequence[Consent]


def answers_of(squad: Squad, *, on: date) -> list[Row]:
    """Five queries."""
    places = squad.places.on(on).values("swimmer")
    swimmers = list(Swimmer.objects.filter(id__in=places))
    said: dict[tuple[int, str], list[bool]] = defaultdict(list)
    for question in FOUR:
        standing = Consent.objects.standing(question.purpose, on=on).filter(swimmer__in=swimmers)
        for swimmer, is_given in standing.values_list("swimmer_id", "is_given"):
            said[swimmer, question.purpose].append(is_given)
    return [
        Row(swimmer, [_strictest(said[swimmer.pk, question.purpose]) for question in FOUR])
        for swimmer in swimmers
    ]


def answers_about(swimmer: Swimmer, *, on: date) -> list[About]:
    found = []
    for question in questions_for(swimmer, on=on):
        standing = Consent.objects.standing(question.purpose, on=on).filter(swimmer=swimmer)
        rows = list(standing.select_related("answered_by", "recorded_by").order_by("at"))
        found.append(About(question, _strictest([row.is_given for row in rows]), rows))
    return found


def _strictest(answers: Sequence[bool]) -> str:
    if not answers:
        return ""
    return "yes" if all(answers) else "no"
