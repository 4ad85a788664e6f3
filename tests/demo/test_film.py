"""Drawn film against its truth: small clips, drawn when the tests run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from django.conf import settings
from numpy.typing import NDArray
from PIL import Image

from portal.demo import truth
from portal.demo.drawing import film, strip
from portal.demo.drawing.breaststroke import Breaststroke
from portal.demo.drawing.figure import figure
from portal.demo.drawing.film import Format, NotEncoded, Shooting
from portal.demo.drawing.freestyle import Freestyle
from portal.demo.drawing.lens import Rail, View
from portal.demo.drawing.measuring import PIXELS
from portal.demo.drawing.outfit import Outfit
from portal.demo.drawing.scenes import Scene
from portal.demo.drawing.turning import Turn
from portal.demo.truth import Truth
from tests.demo import decoding
from tests.demo.decoding import Frame

SMALL = Format(width=640, height=360, is_numbered=True)
# Nothing else in the picture has this colour, above water or below.
MAGENTA = (255.0, 0.0, 255.0)
SWUNG = Scene(
    name="swung",
    how=Breaststroke(),
    seconds=2.2,
    start=4.0,
    rail=Rail(swing_in=0.8, swing_out=0.7),
    outfit=Outfit(cap=MAGENTA),
)


def caps(picture: Frame) -> NDArray[np.int64]:
    """Rows and columns, one pixel a row, of what has the colour of the cap."""
    red, green, blue = np.moveaxis(picture.astype(int), -1, 0)
    return np.argwhere((red - green > 60) & (blue - green > 60))


@pytest.fixture(scope="module")
def swung(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("drawn")
    return film.draw(SWUNG, folder, form=SMALL, ffmpeg=settings.FFMPEG)


@pytest.fixture(scope="module")
def frames(swung: Path) -> list[Frame]:
    return list(decoding.frames(swung))


@pytest.fixture
def known(swung: Path) -> Truth:
    return truth.read(swung.with_suffix(".json"))


def test_it_works(swung: Path, frames: list[Frame], known: Truth) -> None:
    assert len(frames) == known.frames == 66
    assert frames[0].shape == (360, 640, 3)
    assert (known.size, known.rate, known.view) == ((640, 360), 30, "side")
    assert known.shows["move"] == "breast"
    assert known.shows["heel_height"] == 1.0
    assert set(known.pixels) == set(PIXELS)
    assert {len(rows) for rows in known.measures.values()} == {known.frames}
    assert {len(rows) for rows in known.pixels.values()} == {known.frames}
    assert known == Shooting(SWUNG, SMALL).truth()


def test_every_frame_tells_its_number(frames: list[Frame]) -> None:
    assert [strip.read(frame) for frame in frames] == list(range(66))


def test_the_number_outlives_scaling(frames: list[Frame]) -> None:
    half = [np.asarray(Image.fromarray(frame).resize((320, 180))) for frame in frames[::5]]
    assert [strip.read(frame, scale=0.5) for frame in half] == list(range(0, 66, 5))


def test_a_picture_without_a_number_has_none(frames: list[Frame]) -> None:
    with pytest.raises(strip.NoStrip, match="Draw the film with a strip"):
        strip.read(frames[0][100:])
    damaged = frames[3].copy()
    damaged[: strip.CELL, 17 * strip.CELL : 18 * strip.CELL] = 16
    with pytest.raises(strip.NoStrip):
        strip.read(damaged)


def test_the_cap_is_where_the_truth_has_the_head(frames: list[Frame], known: Truth) -> None:
    """Also while the lens swings, when one frame sooner or later is 20 pixels off. What is seen
    of a cap has its middle some 5 cm from that of the skull, which is 6 pixels."""
    offs = {}
    for frame in range(known.seen[0], known.seen[1] + 1):
        column, row = known.pixels["skull"][frame]
        if 20 < column < 620:
            cap_row, cap_column = caps(frames[frame]).mean(0)
            offs[frame] = float(np.hypot(cap_row - row, cap_column - column))
    assert len(offs) > 30
    assert max(offs.values()) < 11, offs


def test_the_stretch_is_when_the_swimmer_is_in_the_picture(
    frames: list[Frame], known: Truth
) -> None:
    """The cap goes ahead of the hips: it comes into the picture earlier and leaves earlier."""
    seen = [frame for frame, picture in enumerate(frames) if len(caps(picture)) > 20]
    assert seen == list(range(seen[0], seen[-1] + 1))
    first, last = known.seen
    assert 0 <= first - seen[0] <= 4
    assert 0 <= last - seen[-1] <= 6
    assert 0 < first < last < known.frames - 1
    assert not len(caps(frames[0]))
    assert not len(caps(frames[-1]))


def test_the_same_scene_is_the_same_file(tmp_path: Path) -> None:
    scene, form = replace(SWUNG, seconds=0.3), replace(SMALL, width=320, height=180)
    for folder in ("one", "other"):
        (tmp_path / folder).mkdir()
        film.draw(scene, tmp_path / folder, form=form, ffmpeg=settings.FFMPEG)
    for name in ("swung.mp4", "swung.json"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "other" / name).read_bytes()


def test_an_encoder_that_gives_up_is_reported(tmp_path: Path) -> None:
    with pytest.raises(NotEncoded, match=r"could not write .*swung.mp4: .*No such file"):
        film.draw(SWUNG, tmp_path / "nowhere", form=SMALL, ffmpeg=settings.FFMPEG)


SETUPS = {
    "breaststroke": Scene(name="", how=Breaststroke(breath="late"), seconds=2, start=4),
    "from the front": Scene(name="", how=Breaststroke(), seconds=2, view=View.FRONT),
    "a turn": Scene(name="", how=Turn(), seconds=6, rail=Rail(nearest=2.05)),
    "freestyle": Scene(name="", how=Freestyle(), seconds=2),
}
# Toes and fingertips stand at the very end of the flesh.
INSIDE = [name for name in PIXELS if not name.startswith(("crown", "toes", "fingers"))]


@pytest.mark.parametrize("setup", SETUPS)
def test_joints_lie_on_the_figure(setup: str) -> None:
    scene = SETUPS[setup]
    shooting = Shooting(scene, SMALL)
    known = shooting.truth()
    for frame in range(0, known.frames, known.frames // 8):
        body, lens = shooting.move.body(frame), shooting.lens_at(frame)
        tile = figure(body, scene.outfit, lens, frame / known.rate)
        assert tile is not None
        for name in INSIDE:
            assert tile.covers(*known.pixels[name][frame]) > 0.5, (name, frame)
        assert tile.covers(1.0, 1.0) == 0


def test_colours_are_the_outfits() -> None:
    """Two swimmers in the same pose differ, and only where there is a swimmer."""
    other = Outfit(cap=(36, 38, 46), back=(160, 30, 38), belly=(232, 224, 210))
    scenes = (SETUPS["breaststroke"], replace(SETUPS["breaststroke"], outfit=other))
    one, two = (Shooting(scene, SMALL) for scene in scenes)
    pictures = [shooting.picture(20).astype(int) for shooting in (one, two)]
    apart = np.abs(pictures[0] - pictures[1]).max(-1) > 30
    tile = figure(one.move.body(20), other, one.lens_at(20), 0.0)
    assert tile is not None
    column, row = (int(each) for each in one.truth().pixels["skull"][20])
    assert apart[row - 1 : row + 2, column - 1 : column + 2].any()
    places = np.argwhere(apart)
    assert 300 < len(places) < 10_000
    assert all(tile.covers(float(x), float(y)) > 0 for y, x in places)
