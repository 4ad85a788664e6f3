"""Stretches guessed from small pictures, and from the drawn take of six swimmers."""

from __future__ import annotations

from pathlib import Path

import pytest

from portal.recordings import proposing
from portal.recordings.models import Recording
from portal.recordings.proposing import CELLS, COLUMNS, PICTURE_BYTES
from tests.cast import Cast
from tests.recordings.films import make_ready
from tests.recordings.six import HALF_A_SECOND, seen, six_swimmers

GREY, WATER, SKIN = 120, 95, 140


def picture(*, red: int = 0, bright: int = 0) -> bytes:
    """Water, with so many cells of skin, and so many that shine, in its middle rows."""
    greys, reds = [GREY] * CELLS, [WATER] * CELLS
    for cell in range(red):
        reds[6 * COLUMNS + cell] = SKIN
    for cell in range(bright):
        greys[6 * COLUMNS + cell] = GREY + 60
    return bytes([*greys, *[WATER] * CELLS, *reds])


def guesses(*pictures: bytes, every: int = 3, frames: int | None = None):
    count = len(pictures) * every if frames is None else frames
    return proposing.stretches(b"".join(pictures), every=every, rate=30, frames=count)


def marks(found) -> list[tuple[int, int]]:
    return [(guess.first, guess.last) for guess in found]


def test_it_works():
    found = guesses(*[picture()] * 20, *[picture(red=30)] * 20, *[picture()] * 20)

    assert marks(found) == [(60, 119)]
    assert found[0].sure > 0.9


def test_a_grey_film_is_judged_by_what_changes():
    flicker = [picture(bright=30), picture()] * 10

    assert marks(guesses(*[picture()] * 20, *flicker, *[picture()] * 20)) == [(60, 119)]


def test_a_camera_that_goes_along_is_no_swimmer():
    moving = [picture(bright=30), picture()]

    found = guesses(*moving * 10, *[picture(red=30), picture(red=30, bright=30)] * 10, *moving * 10)

    assert marks(found) == [(60, 119)]


@pytest.mark.parametrize(
    "pictures",
    [
        [],
        [picture()],
        [picture()] * 60,
        [picture(red=30)] * 60,
        [picture(red=count % 4) for count in range(60)],
    ],
    ids=["none", "one", "empty water", "never empty", "noise"],
)
def test_nothing_is_guessed_where_nothing_parts(pictures: list[bytes]):
    assert guesses(*pictures) == []


def test_a_splash_is_no_stretch_and_a_breath_is_no_gap():
    water, swimmer = [picture()], [picture(red=30)]
    film = [*water * 15, *swimmer * 5, *water * 15, *swimmer * 10, *water * 3, *swimmer * 10]

    assert marks(guesses(*film, *water * 15)) == [(105, 173)]


def test_no_guess_ends_behind_the_film():
    found = guesses(*[picture()] * 20, *[picture(red=30)] * 20, frames=118)

    assert marks(found) == [(60, 117)]


def test_what_is_cut_off_is_left_out():
    film = b"".join([picture()] * 20 + [picture(red=30)] * 20) + b"\0" * (PICTURE_BYTES - 1)

    assert len(proposing.stretches(film, every=3, rate=30, frames=120)) == 1


@pytest.mark.parametrize(
    ("rate", "frames", "every"), [(30, 900, 3), (240, 2400, 24), (5, 50, 1), (60, 144_000, 24)]
)
def test_a_few_pictures_a_second_are_enough(rate: float, frames: int, every: int):
    assert proposing.spacing(rate, frames) == every


@pytest.fixture
def take(cast: Cast, tmp_path: Path) -> Recording:
    return make_ready(cast, six_swimmers(tmp_path / "six.mp4"))


def test_all_six_of_the_drawn_take(take: Recording):
    found = take.strip["guesses"]

    assert len(found) == 6
    for guess, (first, last) in zip(found, seen(), strict=True):
        assert abs(guess["first"] - first) <= HALF_A_SECOND
        assert abs(guess["last"] - last) <= HALF_A_SECOND
        assert 0.5 < guess["sure"] <= 1
