"""Answers as the staff's pages list them, in a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from portal.people import consenting
from portal.people.models import Consent, Squad, Swimmer, User
from portal.people.questions import FOUR, Question, questions_for


@dataclass(frozen=True)
class Standing:
    """What holds of several people's answers to one question: the strictest."""

    purpose: Consent.Purpose
    word: str
    """Yes, no, or nothing yet."""
    is_of_old: bool = False
    """Somebody answered it to another edition of the policy than the club's of today."""

    @property
    def answer(self) -> str:
        """For those who need to know no more than whether it is allowed."""
        return self.word or "no"


@dataclass(frozen=True)
class Row:
    """A swimmer of the squad, and what holds of the four questions."""

    swimmer: Swimmer
    answers: list[Standing]

    @property
    def open(self) -> list[str]:
        """The questions that nobody has answered, in a word or two."""
        return [str(each.purpose.label) for each in self.answers if not each.word]


@dataclass(frozen=True)
class Said:
    """One person's answer, by the name under which the club knows them."""

    name: str
    answer: Consent


@dataclass(frozen=True)
class About:
    """One question about one swimmer."""

    question: Question
    standing: Standing
    said: Sequence[Said]
    silent: Sequence[str]
    """Names of those who may answer and have not."""


def answers_of(squad: Squad, *, on: date) -> list[Row]:
    """Two queries."""
    places = squad.places.on(on).values("swimmer")
    swimmers = list(Swimmer.objects.filter(id__in=places))
    said: dict[tuple[int, str], list[Consent]] = defaultdict(list)
    by_id = {swimmer.pk: swimmer for swimmer in swimmers}
    for answer in Consent.objects.filter(swimmer__in=swimmers, is_newest=True):
        child = by_id[answer.swimmer_id]
        is_standing = consenting.counts(
            until=answer.until, born=child.born, own=child.user_id, by=answer.answered_by_id, on=on
        )
        if is_standing:
            said[child.pk, answer.purpose].append(answer)
    edition = squad.club.policy_edition
    return [
        Row(swimmer, [_standing(q.purpose, said[swimmer.pk, q.purpose], edition) for q in FOUR])
        for swimmer in swimmers
    ]


def answers_about(swimmer: Swimmer, *, on: date) -> list[About]:
    """One query for each question, and two."""
    names, answering = names_of(swimmer), consenting.who_answers(swimmer, on=on)
    found = []
    for question in questions_for(swimmer, on=on):
        standing = Consent.objects.standing(question.purpose, on=on).filter(swimmer=swimmer)
        rows = list(standing.select_related("answered_by", "recorded_by").order_by("at"))
        heard = {row.answered_by_id for row in rows}
        found.append(
            About(
                question,
                _standing(question.purpose, rows, swimmer.club.policy_edition),
                [Said(names.get(row.answered_by_id, row.answered_by.name), row) for row in rows],
                [names.get(user.pk, user.name) for user in answering if user.pk not in heard],
            )
        )
    return found


def answering(swimmer: Swimmer, *, on: date) -> dict[User, str]:
    """Who may answer today, with the name under which the club knows them. Two queries."""
    names = names_of(swimmer)
    users = consenting.who_answers(swimmer, on=on)
    return {user: names.get(user.pk, user.name) for user in users}


def names_of(swimmer: Swimmer) -> dict[int, str]:
    """Of the guardians, by the ids of their accounts: what the account of somebody invited says
    of them is not for the club that invites. One query."""
    ties = swimmer.guardianships.select_related("guardian").order_by("starts", "pk")
    return {tie.guardian_id: tie.name for tie in ties}


def _standing(purpose: Consent.Purpose, answers: Sequence[Consent], edition: str) -> Standing:
    if not answers:
        return Standing(purpose, "")
    word = "yes" if all(answer.is_given for answer in answers) else "no"
    return Standing(purpose, word, any(answer.edition != edition for answer in answers))
