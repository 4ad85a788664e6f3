"""What the demo's coaches say is what the drawn footage is known to show."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import av
import pytest

from portal.demo import script
from portal.demo.filming import FOOTAGE, truth_of
from portal.demo.script import Piece, Practice, Remark, Take
from portal.items.models import Verdict
from portal.recordings.models import Effort
from portal.technique.reading import read

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
    for practice in script.SESSIONS:
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


def test_the_truth_files_belong_to_the_films() -> None:
    films = sorted(FOOTAGE.glob("*.mp4"))
    assert [path.stem for path in films] == sorted(path.stem for path in FOOTAGE.glob("*.json"))
    for path in films:
        with av.open(str(path)) as film:
            assert film.streams.video[0].frames == truth_of(path.stem).frames
    assert sum(path.stat().st_size for path in films) < 15_000_000


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
    assert len({practice.days_ago for practice in script.SESSIONS}) == 3
    drafts = [
        piece
        for practice, piece in pieces()
        if piece.remarks and piece.swimmer not in practice.published
    ]
    assert drafts
    assert {piece.by for piece in drafts} == {script.ASSISTANT}
