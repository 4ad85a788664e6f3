"""Which passwords are too easily guessed, long as they may be.

Lists of leaked passwords hold next to nothing of fifteen characters and more, so this looks at
how a long one is made: of one piece over and over, of a row of keys, or of words that everybody
takes.
"""

from __future__ import annotations

import re

from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from portal.people.models import User

ROWS = ["abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm"]
WORDS = (
    *("password", "passphrase", "secret", "letmein", "welcome", "admin", "login", "flagline"),
    *("swimming", "swimmer", "swim", "coach", "club", "team", "pool", "water", "summer", "winter"),
    *("spring", "autumn", "monday", "sunday", "hello", "master", "dragon", "monkey", "football"),
    *("princess", "sunshine", "love", "test", "user", "your", "please", "the", "my", "you", "is"),
)
# Pieces of keyboard rows as long as this count as one thing.
RUN = 4


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
    """Less than five characters are left once all that is easily guessed is taken out."""
    left = password.lower()
    if re.fullmatch(r"(.{1,5}?)\1+.{0,4}", left):
        return True
    for known in sorted([*names, *_runs(), *WORDS], key=len, reverse=True):
        left = left.replace(known, "")
    return len(set(re.sub(r"[\W\d_]", "", left))) < 5


def _names(user: User | None) -> list[str]:
    if user is None:
        return []
    return [part for part in re.split(r"\W+", f"{user.name} {user.email}".lower()) if len(part) > 2]


def _runs() -> list[str]:
    rows = [*ROWS, *(row[::-1] for row in ROWS)]
    return [row[n : n + RUN] for row in rows for n in range(len(row) - RUN + 1)]
