from __future__ import annotations

import json
import math
from copy import deepcopy
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from portal.review import chalk, drawing
from portal.review.chalk import Malformed
from tests.house import ROOT
from tests.review.drawings import ANGLE, LINE, SIX, TEXT, W, any_drawing
from tests.review.drawings import drawing as of

FONTS = ROOT / "static" / "fonts"


def test_it_works():
    made = of(LINE, ANGLE, TEXT)

    read = chalk.read(made)

    assert [shape.kind for shape in read.shapes] == ["line", "angle", "text"]
    assert read.as_json() == made


@given(any_drawing)
def test_any_drawing_comes_back_as_it_was(made: dict[str, Any]):
    kept = chalk.read(made).as_json()

    assert kept == made
    assert chalk.read(json.loads(json.dumps(kept))).as_json() == kept
    for parts in chalk.painted(chalk.read(kept)):
        numbers = [*parts.head, *parts.scrap, *(p for line in parts.lines for p in line.points)]
        assert all(map(math.isfinite, (each for point in numbers for each in point)))


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=12,
)


@given(anything)
def test_anything_else_is_refused_and_never_breaks(sent: object):
    with pytest.raises(Malformed):
        chalk.read(sent)


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, Any]:
    """A drawing in which one place holds what does not belong there."""
    made = deepcopy(draw(any_drawing))
    shape = draw(st.sampled_from(made["shapes"]))
    place = draw(st.sampled_from(["schema", "aspect", "shapes", *shape, "point", "more", "less"]))
    wrongs: list[object] = [None, True, "line!", math.nan, math.inf, -9, 10**400, [], {}, [[]]]
    wrong = draw(st.sampled_from(wrongs))
    if place in made:
        made[place] = wrong
    elif place == "point":
        shape["p"][0] = [0.5, draw(st.sampled_from([1.051, -0.051, math.nan, "0", None, True]))]
    elif place == "more":
        shape["c"] = "#d55e00"
    elif place == "less":
        del shape[draw(st.sampled_from(list(shape)))]
    elif place == "s" and wrong == "line!":
        shape["s"] = "☃"
    else:
        shape[place] = wrong
    return made


@given(spoilt())
def test_one_wrong_place_is_enough(made: dict[str, Any]):
    with pytest.raises(drawing.NoDrawing) as refused:
        drawing.read(made)

    assert "%" not in str(refused.value), "its words are filled in"
    assert len(str(refused.value)) < 240


def wave(points: int) -> dict[str, Any]:
    return {"k": "free", "p": [[round(i / points, 5), 0.5] for i in range(points)], "w": W}


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (of(), "at least one shape and at most 64; this one has 0."),
        (of(*[LINE] * 65), "at most 64; this one has 65."),
        (of(wave(513)), "Shape 1, free, has 513 points. It needs 2-512."),
        (of(*[wave(512)] * 4, LINE), "at most 2048 points; this one has 2050."),
        (of(LINE, {**LINE, "k": "circle"}), "Shape 2 is “circle”. We know line, arrow,"),
        (of({**LINE, "c": "#d55e00"}), "lacks or has too much: c (1)."),
        (of({**LINE, "w": 0.2}), "“0.2” is out of place (w): it lies from 0.001 to 0.05."),
        (of({**LINE, "p": [[0, 0], [0, 1.2]]}), "“1.2” is out of place (p)"),
        (of({**TEXT, "s": "a" * 81}), "1 to 80 letters; these have 81."),
        (of({**TEXT, "s": "  "}), "1 to 80 letters"),
        (of({**TEXT, "s": "Good ☃"}), "“☃” cannot be written on a frame."),
        (of({**ANGLE, "p": [[0.5, 0.5], [0.5, 0.5], [0.7, 0.5]]}), "Shape 1 is an angle without"),
        ({**of(LINE), "schema": "drawing/2"}, "“drawing/2” is a drawing that we cannot read."),
        ([1, 2], "“[1, 2]” is no drawing"),
    ],
)
def test_what_is_wrong_is_said(made: object, words: str):
    with pytest.raises(drawing.NoDrawing) as refused:
        drawing.read(made)

    assert words in str(refused.value)


def test_the_largest_drawing_is_small_enough_to_keep():
    """All limits reached at once stay under the limit of bytes, but for words of wide letters."""
    strokes = [wave(487)] * 4
    shapes = [*strokes, *[{**TEXT, "s": "a" * 80}] * 60]

    read = chalk.read(of(*shapes))

    assert len(json.dumps(read.as_json()).encode()) < chalk.MOST_BYTES


def test_nothing_drawn_is_nothing():
    assert drawing.read(None) is None
    assert drawing.kept(None) is None


# ---- angles


def by_numpy(points: np.ndarray, aspect: float) -> float:
    """The angle at the second point in pixels of a frame 1000 high, by the rule of the cosine."""
    a, vertex, b = points * np.array([1000 * aspect, 1000], dtype=np.longdouble)
    one, other = a - vertex, b - vertex
    cosine = (one @ other) / np.sqrt((one @ one) * (other @ other))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def angle(points: np.ndarray, spread: float = 0.005) -> chalk.Shape:
    return chalk.Shape("angle", tuple((float(x), float(y)) for x, y in points), W, spread=spread)


def test_angles_are_those_of_numpy():
    chance = np.random.default_rng(8)
    worst, seen = 0.0, 0
    for _ in range(5000):
        points, aspect = chance.uniform(0, 1, (3, 2)), float(chance.uniform(0.4, 2.4))
        shape = angle(points)
        expected = by_numpy(points.astype(np.longdouble), aspect)
        worst = max(worst, abs(chalk.degrees(shape, aspect) - expected))
        seen += 1

    assert seen == 5000
    assert worst < 1e-6


def test_shares_without_the_frames_form_are_another_angle():
    """137.96 degrees on a frame of 16:9 would be less than 115 if its shares were pixels."""
    half = math.radians(137.96 / 2)
    y = 0.2
    x = y * math.tan(half) / (16 / 9)
    points = np.array([[0.5 - x, 0.5 + y], [0.5, 0.5], [0.5 + x, 0.5 + y]])

    assert chalk.degrees(angle(points), 16 / 9) == pytest.approx(137.96, abs=1e-6)
    assert chalk.degrees(angle(points), 1) < 115


@pytest.mark.parametrize(
    ("legs", "between"), [((150, 150), 120), ((60, 60), 90), ((300, 80), 160), ((150, 150), 20)]
)
def test_its_spread_is_that_of_many_hands(legs: tuple[int, int], between: int):
    """Each point is met three pixels off, 200 000 times; legs in pixels of a frame 1000 high."""
    chance = np.random.default_rng(between)
    turn = math.radians(between)
    points = np.array(
        [
            [500 + legs[0], 500],
            [500, 500],
            [500 + legs[1] * math.cos(turn), 500 + legs[1] * math.sin(turn)],
        ]
    )
    met = points + chance.normal(0, 3, (200_000, 3, 2))
    one, other = met[:, 0] - met[:, 1], met[:, 2] - met[:, 1]
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    seen = np.degrees(np.arctan2(cross, (one * other).sum(axis=1)))

    assert chalk.spread(angle(points / 1000, 0.003), 1) == pytest.approx(seen.std(), rel=0.02)


def test_the_figure_tells_whole_degrees_and_never_less_than_one():
    right = angle(np.array([[0.5, 0.1], [0.5, 0.5], [0.9, 0.5]]), 0.0005)
    short = angle(np.array([[0.5, 0.46], [0.5, 0.5], [0.54, 0.5]]), 0.02)

    assert chalk.figure(right, 1) == "90° ± 1°"
    assert chalk.figure(short, 1) == "90° ± 58°"


@settings(max_examples=60)
@given(any_drawing)
def test_the_scrap_with_the_figure_stays_on_a_wide_frame(made: dict[str, Any]):
    made = {**made, "aspect": 1.77778}
    shapes = [shape for shape in made["shapes"] if shape["k"] == "angle"]
    for shape in shapes:
        try:
            read = chalk.read({**made, "shapes": [shape]})
        except Malformed:
            continue
        [parts] = chalk.painted(read)
        xs, ys = zip(*parts.scrap, strict=True)
        assert min(xs) >= -0.001
        assert max(xs) <= 1777.79
        assert min(ys) >= -0.001
        assert max(ys) <= 1000.001


# ---- letters


def test_every_letter_that_may_be_written_is_in_our_fonts():
    """A letter that a font lacks looks like any other that it lacks."""
    fonts = {
        name: ImageFont.truetype(FONTS / name, 40) for name in (drawing.LATIN, drawing.LATIN_EXT)
    }
    lacking = {name: bytes(font.getmask("\uffff")) for name, font in fonts.items()}
    letters = [chr(code) for code in range(0x20, 0x2100) if chalk.WRITABLE.fullmatch(chr(code))]

    assert len(letters) > 300
    for each in letters:
        name = drawing.file_of(each)
        assert bytes(fonts[name].getmask(each)) != lacking[name], each
    assert bytes(fonts[drawing.LATIN].getmask("☃")) == lacking[drawing.LATIN]


def test_the_widths_of_the_figures_letters_are_those_of_the_font():
    font = ImageFont.truetype(FONTS / drawing.LATIN, 1000, layout_engine=ImageFont.Layout.BASIC)
    font.set_variation_by_axes([drawing.WEIGHT])

    widths = {each: font.getlength(each) / 1000 for each in chalk.FIGURE_WIDTHS}

    assert widths == pytest.approx(chalk.FIGURE_WIDTHS)


def test_all_six_drawings_are_drawings():
    for made in SIX.values():
        assert chalk.read(made).as_json() == made
    assert {shape["k"] for shape in SIX["mixed"]["shapes"]} == set(chalk.POINTS)
