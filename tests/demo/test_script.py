"""What the demo's coaches say is what the drawn footage is known to show."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations, pairwise
from typing import Any

import av
import numpy as np
import pytest

from portal.demo import chalking, filming, reading, script
from portal.demo.filming import FOOTAGE, truth_of
from portal.demo.script import Piece, Practice, Remark, Take
from portal.items.models import Verdict
from portal.recordings.models import Effort
from portal.review import chalk
from portal.technique.reading import read
from tests.demo import decoding

Shows = dict[str, Any]
# By the tag: what the footage must show for the tag to be said of it.
SEEN: dict[str, Callable[[Shows], bool]] = {
    "breast-heels-low": lambda s: s["heel_hip_min_m"] > 0.6,
    "breast-heels-high": lambda s: s["heel_hip_min_m"] < 0.45,
    "breast-knees-wide": lambda s: s["knee_gap_max_m"] > 0.7,
    "breast-narrow-knees": lambda s: s["knee_gap_max_m"] < 0.5,
    "breast-late-breath": lambda s: s["breath"] == "late",
    "breast-early-breath": lambda s: s["breath"] == "early",
    "breast-line-after-kick": lambda s: s["line"] == 0 and s["head_up"] == 0,
    "breast-squeeze-finish": lambda s: s["line"] == 0,
    "breast-even-arms": lambda s: s["move"] == "breast",
    "breast-elbows-forward": lambda s: s["move"] == "breast",
    "touch-one-hand": lambda s: s["touch"] == "one",
    "touch-both-hands": lambda s: s["touch"] == "both",
    "open-turn-leaves-on-back": lambda s: s["on_back"],
    "open-turn-on-side": lambda s: not s["on_back"],
    "pullout-wide-return": lambda s: s["hands_away"],
    "pullout-slim-return": lambda s: not s["hands_away"],
    "pullout-patient-line": lambda s: s["streamline_s"] > 1.5,
    "pullout-one-small-dolphin": lambda s: s["move"] == "turn",
    "streamline-tight": lambda s: s["move"] == "turn",
    "free-dropped-elbow": lambda s: s["catch"] == "dropped",
    "free-high-elbow-catch": lambda s: s["catch"] == "high elbow",
    "free-head-lifted": lambda s: s["head_up"] > 0,
    "free-head-neutral": lambda s: s["head_up"] == 0,
    "free-even-roll": lambda s: s["move"] == "free",
}


def takes() -> Iterator[tuple[Practice, Take]]:
    for practice in reading.sessions():
        for take in practice.takes:
            yield practice, take


def pieces() -> Iterator[tuple[Practice, Piece]]:
    for practice, take in takes():
        yield from ((practice, piece) for piece in take.pieces)


def remarks() -> list[tuple[Piece, Remark]]:
    return [(piece, remark) for _practice, piece in pieces() for remark in piece.remarks]


@pytest.mark.parametrize(("piece", "remark"), remarks(), ids=lambda each: getattr(each, "tag", ""))
def test_what_is_said_is_what_is_seen(piece: Piece, remark: Remark) -> None:
    truth = truth_of(piece.footage)
    assert SEEN[remark.tag](truth.shows)
    assert piece.first <= truth.frame(remark.event, remark.turn) <= piece.last < truth.frames


def long_take() -> Take:
    return max((take for _practice, take in takes()), key=lambda take: len(take.pieces))


def test_angles_are_drawn_on_the_joints_and_are_what_the_body_did() -> None:
    """The truth knows the knee in space, a camera at the side sees it nearly so."""
    drawn = [(piece, each) for _, piece in pieces() for each in piece.remarks if each.angle]

    assert len(drawn) == 2
    for piece, each in drawn:
        truth = truth_of(piece.footage)
        frame = truth.frame(each.event, each.turn)
        made = chalk.read(chalking.angle(each.angle, truth, frame=frame))
        [shape] = made.shapes
        assert all(0 < share < 1 for point in shape.points for share in point)
        assert abs(chalk.degrees(shape, made.aspect) - truth.measures["knee"][frame]) < 10
        assert chalk.spread(shape, made.aspect) < chalk.UNSURE


def test_the_cuts_are_the_stretches_in_which_each_swimmer_is_seen() -> None:
    """Within half a second, and never a frame without them."""
    for _practice, take in takes():
        for piece, start in filming.first_frames(take).items():
            truth = truth_of(piece.footage)
            first, last = (start + frame for frame in truth.seen)
            cut = start + piece.first, start + piece.last
            assert first <= cut[0] <= first + truth.rate / 2, piece.footage
            assert last - truth.rate / 2 <= cut[1] <= last, piece.footage


def test_between_two_swimmers_of_the_long_take_the_water_is_empty() -> None:
    starts = filming.first_frames(long_take())
    truths = {start: truth_of(piece.footage) for piece, start in starts.items()}
    stretches = [(start + of.seen[0], start + of.seen[1]) for start, of in truths.items()]
    for (_first, last), (first, _last) in pairwise(stretches):
        assert 15 <= first - last <= 30
    for truth in truths.values():
        for frame in (0, truth.frames - 1):
            columns = [places[frame][0] for places in truth.pixels.values()]
            assert max(columns) < 0 or min(columns) > truth.size[0]


def test_the_six_swimmers_of_the_long_take_wear_different_caps() -> None:
    """Their colours, read off the joined film where the truth has each head."""
    wanted = {}
    for piece, start in filming.first_frames(long_take()).items():
        truth = truth_of(piece.footage)
        inside = range(piece.first + 15, piece.last - 15)
        highest = max(inside, key=lambda frame: truth.measures["crown_height_m"][frame])
        wanted[start + highest] = truth.pixels["skull"][highest]
    colours = []
    with filming.file_of(long_take()) as path:
        for number, frame in enumerate(decoding.frames(path)):
            if number in wanted:
                column, row = (round(each) for each in wanted[number])
                head = frame[row - 20 : row, column - 8 : column + 9]
                colours.append(np.median(head, axis=(0, 1)))
    assert len(colours) == 6
    for one, other in combinations(colours, 2):
        assert float(np.linalg.norm(one - other)) > 30


def test_the_truth_files_belong_to_the_films() -> None:
    films = sorted(FOOTAGE.glob("*.mp4"))
    assert {path.stem for path in films} == {path.stem for path in FOOTAGE.glob("*.json")}
    for path in films:
        with av.open(str(path)) as film:
            assert film.streams.video[0].frames == truth_of(path.stem).frames
    assert sum(path.stat().st_size for path in FOOTAGE.iterdir()) < 15_000_000


def test_tags_and_drills_are_in_the_catalogue_and_fit_the_stroke() -> None:
    catalogue = read()
    drills = {drill.slug for drill in catalogue.drills}
    points = {entry.slug: entry for entry in (*catalogue.checkpoints, *catalogue.faults)}
    faults = {fault.slug: fault for fault in catalogue.faults}
    for piece, remark in remarks():
        assert {piece.stroke, "any"} & set(points[remark.tag].strokes)
        assert (remark.verdict == Verdict.GOOD) == (remark.tag not in faults)
        assert bool(remark.drill) == (remark.tag in faults)
        assert not remark.drill or remark.drill in drills
        if remark.verdict == Verdict.NOT_LEGAL:
            assert piece.effort == Effort.RACE
            assert faults[remark.tag].rules


def test_reviews_keep_house_manners() -> None:
    """One focus at most, three corrections at most, at least as much praise."""
    for _practice, piece in pieces():
        good = [each for each in piece.remarks if each.verdict == Verdict.GOOD]
        corrections = [each for each in piece.remarks if each.verdict != Verdict.GOOD]
        assert len(corrections) <= 3
        assert sum(each.is_focus for each in corrections) == bool(corrections)
        if piece.swimmer != "Elif Aydin":
            assert len(good) >= len(corrections), piece.swimmer
        assert not any(each.is_focus for each in good)


def test_there_is_something_of_everything() -> None:
    filmed = {piece.swimmer for _practice, piece in pieces()}
    assert filmed == {child.name for child in script.SWIMMERS} - {"Freya Dahl"}
    assert any(len(take.pieces) == 6 for _practice, take in takes())
    assert any(not take.pieces and take.unsorted for _practice, take in takes())
    assert all(len(take.unsorted) == len(take.swimmers) for _practice, take in takes())
    assert len({practice.days_ago for practice in reading.sessions()}) == 3
    drafts = [
        piece
        for practice, piece in pieces()
        if piece.remarks and piece.swimmer not in practice.published
    ]
    assert drafts
    assert {piece.by for piece in drafts} == {script.ASSISTANT}
