from __future__ import annotations

import pytest

from portal.items import explaining
from portal.items.outlasting import Episode, curve
from portal.items.pairing import Table
from portal.items.recurrence import Said, Standing, State, looks, stand
from tests.items.sequences import START
from tests.items.sequences import looks as looks_of


def standing(signs: str) -> Standing:
    return stand(looks_of(signs))


@pytest.mark.parametrize(
    ("signs", "words"),
    [
        ("", "nobody has looked yet"),
        ("1", "seen in 1 of the 1 session where you looked"),
        ("11.010", "seen in 3 of the 5 sessions where you looked"),
    ],
)
def test_seen(signs: str, words: str):
    assert explaining.seen(standing(signs)) == words


def test_a_band_takes_five_looks():
    words = "with 5 looks the true share could be anywhere from 2 to 9 in 10"

    assert explaining.band(standing("11010")) == words
    assert explaining.band(standing("1101")) == "4 looks are too few for a band: it takes 5"
    assert explaining.band(standing("1")) == "1 look is too few for a band: it takes 5"


def test_recent():
    assert explaining.recent(standing("110100")) == (
        "lately about 4 in 10, roughly 1 to 7; a session 3 looks ago counts half, so the"
        " band stays this wide however often you look"
    )
    assert explaining.recent(standing("11")) == "2 looks are too few for a band: it takes 5"


@pytest.mark.parametrize(
    ("signs", "words"),
    [
        ("", ""),
        ("10", "clean the last time you looked"),
        ("1000", "clean the last 3 times you looked"),
        ("1", "there the last time you looked"),
        ("011", "there the last 2 times you looked"),
    ],
)
def test_run(signs: str, words: str):
    assert explaining.run(standing(signs)) == words


def test_chance():
    assert explaining.chance(standing("11010" + "000")) == (
        "if nothing had changed, 4 clean in a row would still happen about 1 time in 28"
    )
    assert explaining.chance(standing("01101" + "000")) == (
        "if nothing had changed, 3 clean in a row would still happen about 1 time in 9"
    )
    assert explaining.chance(standing("10")) == (
        "if nothing had changed, 1 clean look would still happen about 1 time in 4"
    )
    assert not explaining.chance(standing("11"))
    assert not explaining.chance(standing("000"))


def test_needed():
    assert explaining.needed(standing("101")) == "4 clean in a row, over 14 days or more"
    assert explaining.needed(standing("110001")) == (
        "5 clean in a row, over 14 days or more, because it came back once"
    )


def test_disputed():
    said = [Said(1, START, clip, coach, coach == 1) for clip in (1, 2) for coach in (1, 2)]

    assert explaining.disputed(stand(looks(said[:2]))) == (
        "1 clip is left out: two coaches saw it differently"
    )
    assert explaining.disputed(stand(looks(said))).startswith("2 clips are left out")
    assert not explaining.disputed(standing("1"))


def test_every_state_has_its_words():
    assert set(explaining.WORDS) == set(State)


def test_not_seen_lately():
    assert explaining.not_seen_lately() == (
        "not looked at for more than 42 days, or in the last 4 sessions"
    )


def test_time_to_fix():
    fixed, still = Episode(3, 3.0, True), Episode(5, 5.0, False)

    assert explaining.time_to_fix(curve([fixed, fixed, still])) == (
        "half were still open for at least 3 looks after they had come back"
    )
    assert explaining.time_to_fix(curve([fixed, still, still])) == "more than half are still open"


def test_drills_never_come_without_their_warning():
    warning = "Coaches give drills to the stubborn ones, so this is no proof."

    assert explaining.drills(9, 10, 3, 10) == (
        "clean in 9 of 10 with the drill and in 3 of 10 without: a difference of 17 to 81 in 100."
        f" {warning}"
    )
    assert explaining.drills(6, 10, 5, 10) == (
        f"clean in 6 of 10 with the drill and in 5 of 10 without: no clear difference. {warning}"
    )
    assert "too few to compare: 10 on either side are needed" in explaining.drills(9, 9, 0, 30)


def test_pair():
    assert explaining.pair(Table(6, 2, 0, 4), "Dropped elbow", "Crosses over") == (
        "6 of the 8 swimmers with “Dropped elbow” also have “Crosses over”"
    )


def test_agreement():
    assert explaining.agreement(0.4, 50) == (
        "on 50 clips seen by both, agreement beyond chance is 0.40, where 1 is always and 0 no"
        " more than chance"
    )
    assert explaining.agreement(None, 12) == (
        "12 clips seen by both: 30 or more, with both answers, are needed"
    )
