"""The command that draws the demo's clips, and the clips in the tree that it drew."""

from __future__ import annotations

import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from portal.demo import truth
from portal.demo.drawing import scenes, strip
from portal.demo.drawing.film import Format, Shooting
from portal.demo.drawing.scenes import BadClips
from portal.demo.filming import FOOTAGE
from tests.demo import decoding

SMALL = ("--size", "320x180", "--fps", "10")
CLIPS = scenes.read()


def draw(out: Path, *words: str) -> str:
    said = StringIO()
    call_command("draw_footage", "--out", str(out), *words, stdout=said, skip_checks=True)
    return said.getvalue()


def test_it_works(tmp_path: Path) -> None:
    out = tmp_path / "new" / "folder"
    names = ["elif-free", "tomasz-front"]
    said = draw(out, *SMALL, "--strip", "--only", names[0], "--only", names[1])
    assert sorted(line.split(".mp4")[0] for line in said.splitlines()) == names
    for name in names:
        known = truth.read(out / f"{name}.json")
        assert (known.rate, known.size) == (10, (320, 180))
        assert known.frames == round(CLIPS[name].seconds * 10)
        numbers = [strip.read(frame) for frame in decoding.frames(out / f"{name}.mp4")]
        assert numbers == list(range(known.frames))
    assert len(list(out.iterdir())) == 4


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--only", "elif-fre"), "no clip 'elif-fre'. Did you mean 'elif-free'?"),
        (("--only", "otter"), "no clip 'otter'. Known: jonas-heels-low, noor-breast"),
        (("--size", "640"), "'640' is no size. Write width x height"),
        (("--size", "641x360"), "'641x360' is no size"),
        (("--size", "100x80"), "from 320 to 1920"),
        (("--fps", "fast"), "'fast' is no frame rate"),
        (("--fps", "1000"), "from 10 to 240"),
    ],
)
def test_what_cannot_be_drawn_is_refused(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    with pytest.raises(CommandError) as refused:
        draw(tmp_path / "out", *words)
    assert said in str(refused.value)
    assert not (tmp_path / "out").exists()


WITHOUT_NUMPY = """
import sys
sys.modules["numpy"] = None
from django.core.management import execute_from_command_line
import django
django.setup()
import portal.urls, portal.demo.building, portal.demo.management.commands.demo
execute_from_command_line(["manage.py", "draw_footage", "--out", sys.argv[1], "--skip-checks"])
"""


def test_without_numpy_the_demo_stands_and_drawing_says_what_it_needs(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", WITHOUT_NUMPY, str(tmp_path / "out")],
        env={
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "FLAGLINE_DATA": str(tmp_path),
            "PATH": "",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 1
    assert "Traceback" not in run.stderr
    assert "Drawing needs numpy, which is not here. `make test` installs it" in run.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", CLIPS)
def test_the_committed_truth_is_what_would_be_drawn_today(name: str) -> None:
    committed = truth.read(FOOTAGE / f"{name}.json")
    width, height = committed.size
    shooting = Shooting(CLIPS[name], Format(width=width, height=height, rate=committed.rate))
    drawn = shooting.truth()
    for part in ("frames", "view", "shows", "seen", "events"):
        assert getattr(drawn, part) == getattr(committed, part)
    for part, off in (("measures", 0.02), ("pixels", 0.2)):
        old, new = getattr(committed, part), getattr(drawn, part)
        assert list(old) == list(new)
        assert all(np.allclose(old[key], new[key], rtol=0, atol=off) for key in old)


@pytest.mark.parametrize(("name", "frame"), [("jonas-heels-low", 36), ("kenji-turn", 70)])
def test_the_committed_film_is_what_would_be_drawn_today(name: str, frame: int) -> None:
    committed = truth.read(FOOTAGE / f"{name}.json")
    old = list(decoding.frames(FOOTAGE / f"{name}.mp4"))[frame].astype(int)
    width, height = committed.size
    new = Shooting(CLIPS[name], Format(width=width, height=height)).picture(frame)
    assert float(np.abs(old - new).mean()) < 4
    column, row = (int(each) for each in committed.pixels["skull"][frame])
    head = np.s_[row - 5 : row + 6, column - 5 : column + 6]
    assert old[head].mean((0, 1)) == pytest.approx(new[head].mean((0, 1)), abs=14)


def test_all_footage_comes_from_the_clips() -> None:
    assert {path.stem for path in FOOTAGE.glob("*.mp4")} == set(CLIPS)


CLIP = """
[outfit.ada]
cap = [1, 2, 3]
[[clip]]
name = "ada"
outfit = "ada"
seconds = 1.0
move = "breast"
"""


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("breast", "breats"), "no move 'breats'. Did you mean 'breast'?"),
        (('outfit = "ada"', 'outfit = "adda"'), "no outfit 'adda'. Did you mean 'ada'?"),
        (("seconds = 1.0", "minutes = 1.0"), "Clip 'ada': .*unexpected keyword.*'minutes'"),
        (("seconds", "how = { heel = 1 }\nseconds"), "Clip 'ada': .*'heel'.*Correct it"),
        (("seconds", 'view = "above"\nseconds'), "Clip 'ada': 'above' is not a valid View"),
        (("3]", "]"), r"Outfit 'ada': cap is \[1, 2\]"),
        (("cap", "hat"), "Outfit 'ada': unknown colour 'hat'"),
    ],
)
def test_a_file_of_clips_with_a_mistake(tmp_path: Path, change: Any, said: str) -> None:
    path = tmp_path / "clips.toml"
    path.write_text(CLIP)
    assert list(scenes.read(path)) == ["ada"]
    path.write_text(CLIP.replace(*change))
    with pytest.raises(BadClips, match=said):
        scenes.read(path)
