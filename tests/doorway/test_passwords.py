"""Which passwords are too easily guessed, and what is kept of the others."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, islice, product

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher, identify_hasher
from django.core.exceptions import ValidationError
from django.test import Client

from portal.doorway import passwords
from tests.cast import Cast

LONG = 15
EVERYBODYS = ("password", "welcome", "swimming", "dragon", "princess", "sunshine", "football")
ENDS = ("", "1", "123", "!", "2026", "2026!", "_99")
# Nobody's favourites, and none a piece of a keyboard.
OTHERS = (
    *("gravel", "tuba", "lantern", "hedge", "biscuit", "canoe", "thimble", "walnut", "ferry"),
    *("plaster", "goblet", "mosaic", "turnip", "easel", "kettle", "burrow", "cactus", "ribbon"),
)


def guesses() -> Iterator[str]:
    """How lists of guesses are grown: pairs of words, ends, capitals, signs for letters, rows of
    keys, and one thing over and over."""
    for first, second, gap, end in product(EVERYBODYS, EVERYBODYS, ("", "-", " "), ENDS):
        word = f"{first}{gap}{second}{end}"
        yield from (word, word.title(), word.replace("o", "0").replace("s", "$"))
    rows = ["abcdefghijklmnopqrstuvwxyz", "0123456789", "qwertyuiop", "asdfghjkl", "zxcvbnm"]
    for one, two in product(rows, rows):
        for way in (1, -1):
            yield f"{one[::way]}{two[::way]}"
    for piece in ("ab1", "Kite7", "x9!", "zebra-", "12.05.", "lagoon", "Rolf2019"):
        yield piece * (LONG // len(piece) + 1)
    yield from ("1q2w3e4r5t6y7u8i", "1qaz2wsx3edc4rfv", "drowssapdrowssap!", "p4ssw0rd-p4ssw0rd")
    yield from ("correct horse battery staple", "iloveyouforever!", "happybirthday2026")


def test_it_works():
    """ASVS 5.0, 6.2.4: at least 3,000 common ones that are as long as is asked for."""
    tried = {guess for guess in guesses() if len(guess) >= LONG}

    assert len(tried) >= 3000
    assert {guess for guess in tried if not passwords.is_easy(guess, names=[])} == set()


def test_words_that_do_not_belong_together_are_good():
    good = [" ".join(words) for words in islice(combinations(OTHERS, 4), 0, None, 15)]

    assert len(good) > 200
    assert [each for each in good if passwords.is_easy(each, names=[])] == []


@pytest.mark.parametrize(
    "password",
    ["adafalkadafalk2026", "Ines-Falk-Ines-2014", "Otterbrook-Swims-2026", "ada@example"],
)
def test_names_of_the_person_the_children_and_the_club(cast: Cast, password: str):
    cast.club.name = "Otterbrook Swims"
    cast.club.save()
    cast.swimmer.first_name, cast.swimmer.last_name = "Ines", "Falk"
    cast.swimmer.save()

    with pytest.raises(ValidationError):
        passwords.NotEasilyGuessed().validate(password, cast.guardian)
    passwords.NotEasilyGuessed().validate("gravel tuba lantern hedge", cast.guardian)


def test_an_older_hash_is_made_anew_when_somebody_signs_in(client: Client, cast: Cast, settings):
    """OWASP password storage cheat sheet: Argon2id, m=19456, t=2, p=1 at least."""
    settings.PASSWORD_HASHERS = [
        "portal.doorway.passwords.Argon2",
        "django.contrib.auth.hashers.PBKDF2PasswordHasher",
    ]
    password = "gravel tuba lantern hedge"
    cast.guardian.password = PBKDF2PasswordHasher().encode(password, "a grain of salt")
    cast.guardian.save()

    client.post("/sign-in/password/", {"email": cast.guardian.email, "password": password})

    cast.guardian.refresh_from_db()
    assert client.session["_auth_user_id"] == str(cast.guardian.pk)
    assert cast.guardian.password.startswith("argon2$argon2id$v=19$m=19456,t=2,p=1$")
    hasher = identify_hasher(cast.guardian.password)
    assert not hasher.must_update(cast.guardian.password)
    assert cast.guardian.check_password(password)
