"""The file of sessions, and what is said of a mistake in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from portal.demo import reading, script
from portal.demo.reading import BadScript
from portal.items.models import Verdict
from portal.recordings.models import Effort, Session, View

FILE = """
[[practice]]
squad = "Juniors"
days_ago = 3
theme = "turns"
kind = "time trial"
published = ["Kenji Mori"]

[[practice.take]]
name = "lane 2.mp4"
view = "side-underwater"
unsorted = ["sanne-free"]
swimmers = ["Sanne Vos"]

[[practice.take.piece]]
footage = "kenji-turn"
swimmer = "Kenji Mori"
first = 8
last = 185
effort = "race"
by = "Dov Merrin"

[[practice.take.piece.remark]]
event = "touch"
turn = 1
verdict = "good"
tag = "touch-both-hands"
words = "Both hands."
"""


def read(tmp_path: Path, text: str) -> tuple[script.Practice, ...]:
    path = tmp_path / "sessions.toml"
    path.write_text(text)
    return reading.read(path)


def test_it_works(tmp_path: Path) -> None:
    [practice] = read(tmp_path, FILE)
    assert (practice.squad, practice.days_ago, practice.pool) == ("Juniors", 3, script.SHORT_POOL)
    assert practice.kind is Session.Kind.TIME_TRIAL
    assert practice.published == frozenset({"Kenji Mori"})
    [take] = practice.takes
    assert take.view is View.SIDE_UNDER
    assert take.footage == ["kenji-turn", "sanne-free"]
    [piece] = take.pieces
    assert (piece.first, piece.last, piece.effort) == (8, 185, Effort.RACE)
    assert piece.by is script.ASSISTANT
    [remark] = piece.remarks
    assert (remark.event, remark.turn, remark.verdict) == ("touch", 1, Verdict.GOOD)
    assert (remark.cue, remark.is_focus) == ("", False)


def test_without_a_by_the_coach_says_it(tmp_path: Path) -> None:
    [practice] = read(tmp_path, FILE.replace('by = "Dov Merrin"', ""))
    assert practice.takes[0].pieces[0].by is script.COACH


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('theme = "turns"', "theme = turns", "sessions.toml is not TOML"),
        ('squad = "Juniors"', "", "Practice 'turns': 'squad' is missing. Add a line `squad = …`"),
        ("days_ago", "days_since", "Practice 'turns': unknown key 'days_since'"),
        ("days_ago = 3", 'days_ago = "3"', "days_ago is '3'. It has to be of the kind int"),
        ("time trial", "trial", "kind: unknown value 'trial'. Did you mean 'time trial'?"),
        ('["Kenji Mori"]', '["Kenji"]', "unknown swimmer 'Kenji'"),
        ("side-underwater", "side-under", "Take 'lane 2.mp4': view: unknown value 'side-under'"),
        ("Dov Merrin", "Dov Merin", "unknown adult 'Dov Merin'. Did you mean 'Dov Merrin'?"),
        ('swimmer = "Kenji Mori"', "", "Piece 'kenji-turn' of None: unknown swimmer None"),
        ('"good"', '"god"', "at 'touch': verdict: unknown value 'god'. Did you mean 'good'?"),
        ("turn = 1", "turn = true", "turn is True. It has to be of the kind int"),
    ],
)
def test_a_mistake_is_named(tmp_path: Path, old: str, new: str, said: str) -> None:
    with pytest.raises(BadScript) as bad:
        read(tmp_path, FILE.replace(old, new))
    assert said in str(bad.value)
