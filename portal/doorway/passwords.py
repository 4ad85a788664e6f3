"""Which passwords are too easily guessed, long as they may be.

Lists of leaked passwords hold next to nothing of fifteen characters and more, so this looks at
how a long one is made: of one piece over and over, of a row of keys, or of words that everybody
takes.
"""

from __future__ import annotations

import re
from functools import cache

from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils.translation import gettext as _

from portal.people.models import Club, Swimmer, User

ROWS = (
    *("abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm"),
    *("qwertzuiop", "yxcvbnm", "azertyuiop", "qsdfghjklm", "wxcvbn", "qazwsxedcrfvtgbyhnujm"),
)
WORDS = (
    *("password", "passphrase", "passwort", "secret", "letmein", "welcome", "admin", "login"),
    *("flagline", "swimming", "swimmer", "swim", "coach", "club", "team", "pool", "water"),
    *("butterfly", "freestyle", "backstroke", "breaststroke", "medley", "relay", "splash"),
    *("spring", "summer", "autumn", "winter", "january", "february", "march", "april", "june"),
    *("july", "august", "september", "october", "november", "december", "monday", "tuesday"),
    *("wednesday", "thursday", "friday", "saturday", "sunday", "hello", "master", "dragon"),
    *("monkey", "football", "baseball", "princess", "sunshine", "love", "iloveyou", "test"),
    *("user", "your", "please", "the", "my", "you", "is", "mother", "father", "family", "baby"),
    *("happy", "birthday", "forever", "always", "friend", "angel", "flower", "computer"),
    *("internet", "superman", "batman", "whatever", "trustno", "shadow", "freedom", "charlie"),
    *("correct", "horse", "battery", "staple", "jesus", "christ", "liverpool", "chelsea"),
)
# Pieces of keyboard rows as long as this count as one thing.
RUN = 4
# How signs are put for letters.
SIGNS = str.maketrans("013457@$!|", "oieastasil")


class Argon2(Argon2PasswordHasher):
    """The least that OWASP's password storage cheat sheet asks of Argon2id: 19 MiB, 2 rounds,
    1 lane. Django's own 100 MiB a sign-in would fell a small machine."""

    memory_cost = 19 * 1024
    time_cost = 2
    parallelism = 1


class NotEasilyGuessed:
    """For AUTH_PASSWORD_VALIDATORS."""

    def validate(self, password: str, user: User | None = None) -> None:
        if is_easy(password, names=_names(user)):
            raise ValidationError(
                _(
                    "This is too easily guessed: names, rows of keys, repeats and everybody’s words"
                    " count little. Take four or five words that do not belong together."
                ),
                code="password_too_easy",
            )

    def get_help_text(self) -> str:
        return _("Four or five words that do not belong together are good and easy to type.")


def is_easy(password: str, *, names: list[str]) -> bool:
    """Less than five different letters are left once all that is easily guessed is taken out,
    however it is dressed up; or it is one thing, shorter than a password, over and over."""
    plain = password.lower()
    if re.fullmatch(r"(.{1,14}?)\1+.{0,4}", plain):
        return True
    known = sorted([*names, *_runs(), *WORDS], key=len, reverse=True)
    bare, read = _letters(plain), _letters(plain.translate(SIGNS))
    return any(_left(each, known) < 5 for each in (plain, bare, read, bare[::-1]))


def _left(password: str, known: list[str]) -> int:
    for piece in known:
        # The gap keeps two rests from making a word that was not there.
        password = password.replace(piece, " ")
    return len(set(_letters(password)))


def _letters(password: str) -> str:
    return re.sub(r"[\W\d_]", "", password)


def _names(user: User | None) -> list[str]:
    """Of the person, of their children and of their clubs. Three queries, when one is set."""
    if user is None:
        return []
    own = Swimmer.objects.filter(Q(user=user) | Q(guardianships__guardian=user))
    clubs = Club.objects.filter(Q(memberships__user=user) | Q(swimmers__in=own))
    said = [user.name, user.email]
    said += [part for names in own.values_list("first_name", "last_name") for part in names]
    said += clubs.values_list("name", flat=True)
    return [part for part in re.split(r"\W+", " ".join(said).lower()) if len(part) > 2]


@cache
def _runs() -> list[str]:
    rows = [*ROWS, *(row[::-1] for row in ROWS)]
    return [
        row[start:end]
        for row in rows
        for start in range(len(row))
        for end in range(start + RUN, len(row) + 1)
    ]
