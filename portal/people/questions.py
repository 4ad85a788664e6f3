"""The questions that families answer, one at a time, each with what follows from yes and no.

What stands here is a promise, so it says what the portal does, and nothing that it does not.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from portal.people.ages import GROWN_UP, OWN_SIGN_IN
from portal.people.models import Consent, Swimmer

Purpose = Consent.Purpose
Words = str | Promise


@dataclass(frozen=True)
class Question:
    purpose: Consent.Purpose
    short: Words
    asks: Words
    why: Words
    yes: Words
    no: Words

    @property
    def field(self) -> str:
        return self.purpose.value.replace(" ", "-")

    def named(self, name: str) -> Question:
        """With the child's name where %(name)s stands."""
        words = (self.short, self.asks, self.why, self.yes, self.no)
        short, asks, why, yes, no = (str(each) % {"name": name} for each in words)
        return replace(self, short=short, asks=asks, why=why, yes=yes, no=no)


FILM = Question(
    Purpose.FILM,
    _("Film %(name)s swimming"),
    _("May we film %(name)s swimming?"),
    _(
        "At practice, to look at the strokes. The club’s policy above says where, who films and"
        " who else is there."
    ),
    _("The camera may look at %(name)s from the side, the front and under water."),
    _(
        "The camera stays off the lane, and film of %(name)s that is there already is shut at once,"
        " for everybody. The coach watches from the deck and writes notes."
    ),
)
SHOW = Question(
    Purpose.SHOW,
    _("Show the clips here"),
    _("May clips of %(name)s be shown here?"),
    _("Here means: behind a sign-in, never on the open web."),
    _(
        "%(name)s, you, the coaches and assistants, the second adult and the welfare officer can"
        " watch the clips; of a clip with several swimmers, their families too. The club keeps a"
        " record of who did."
    ),
    _(
        "Coaches and assistants look at a clip to write the notes, and the welfare officer can"
        " look; nobody else sees it. You read the words."
    ),
)
MAIL = Question(
    Purpose.MAIL_STILLS,
    _("A picture in the mail"),
    _("May a picture travel in our mails?"),
    _("A mail can be passed on, and a picture in it can’t be called back."),
    _("A mail to you may hold small pictures of %(name)s’s swimming, with no surname."),
    _("Our mails hold words only. Pictures stay here, behind the sign-in."),
)
VOICE = Question(
    Purpose.VOICE,
    _("Keep the sound"),
    _("May clips keep their sound?"),
    _("A clip from the pool can have %(name)s’s voice in it. Today every clip here is silent."),
    _("Should clips here get their sound, whoever may see a clip may hear it as well."),
    _("Clips of %(name)s stay silent. The coach writes instead."),
)
SIGN_IN = Question(
    Purpose.SIGN_IN,
    _("A sign-in of one’s own"),
    _("May %(name)s have a sign-in?"),
    _("From 13 on, if you agree. You see everything that %(name)s sees."),
    _("%(name)s reads the notes on a phone of their own and hears when they are ready."),
    _("%(name)s reads the notes with you."),
)
FOUR = (FILM, SHOW, MAIL, VOICE)

# To a swimmer of 13 to 17: what holds now, and what does not.
TO_THEMSELVES: dict[Consent.Purpose, tuple[Words, Words]] = {
    Purpose.FILM: (
        _("You may be filmed when you swim."),
        _("The camera leaves you out at the moment. Your coach watches from the deck."),
    ),
    Purpose.SHOW: (
        _("Your clips may be shown here."),
        _("Your clips are not shown here at the moment. The words all come."),
    ),
    Purpose.MAIL_STILLS: (
        _("A mail about you may have a picture in it."),
        _("No picture of you travels in a mail."),
    ),
    Purpose.VOICE: (
        _("Your clips may have sound. Today they are all silent."),
        _("Your clips are silent."),
    ),
}


def questions_for(swimmer: Swimmer, *, on: date) -> list[Question]:
    """Four, and from 13 to 17 whether they may sign in themselves."""
    is_teenager = OWN_SIGN_IN <= swimmer.age(on) < GROWN_UP
    asked = (*FOUR, SIGN_IN) if is_teenager else FOUR
    return [question.named(swimmer.first_name) for question in asked]


@dataclass(frozen=True)
class Answered:
    question: Question
    answer: Consent | None
    """What this one person said last, if it still counts."""
    is_of_old: bool = False
    """It was given to another edition of the policy than the club's of today."""

    @property
    def word(self) -> str:
        if self.answer is None:
            return ""
        return "yes" if self.answer.is_given else "no"


def answered(
    questions: Iterable[Question], newest: Iterable[Consent], *, edition: str, on: date
) -> list[Answered]:
    lasting = {row.purpose: row for row in newest if row.until is None or row.until > on}
    rows = [(question, lasting.get(question.purpose)) for question in questions]
    return [Answered(q, row, row is not None and row.edition != edition) for q, row in rows]
