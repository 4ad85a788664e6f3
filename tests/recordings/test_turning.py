"""Films that a camera took lying, upside down or in a mirror."""

from __future__ import annotations

from pathlib import Path

import av
import pytest

from portal.recordings import preparing
from tests.cast import NOW, Cast
from tests.media import film, read_number
from tests.recordings.films import light_copy, make_ready, mark, numbers, pictures, remux, silent


@pytest.fixture
def short(tmp_path: Path) -> Path:
    return film(tmp_path / "short.mp4", frames=40)


@pytest.mark.parametrize(("turn", "quarters"), [("90", 3), ("180", 2), ("270", 1)])
def test_a_turned_film_is_set_upright(
    cast: Cast, short: Path, tmp_path: Path, turn: str, quarters: int
):
    source = remux(short, tmp_path / "turned.mp4", "-display_rotation", turn)
    recording = make_ready(cast, source)
    clip = mark(cast, recording, 3, 9)
    preparing.prepare_clip(clip, at=NOW, report=silent)
    copy, part = light_copy(recording), clip.renditions.get()

    upright = (320, 180) if quarters == 2 else (180, 320)
    assert (copy.width, copy.height) == upright == (part.width, part.height)
    assert numbers(Path(copy.file.path), turned=quarters) == list(range(40))
    assert numbers(Path(part.file.path), turned=quarters) == list(range(3, 10))
    with av.open(copy.file.path) as container:
        assert next(container.decode(video=0)).rotation == 0


def test_a_film_taken_in_a_mirror_is_turned_back(cast: Cast, short: Path, tmp_path: Path):
    source = remux(short, tmp_path / "mirrored.mp4", "-display_rotation", "0", "-display_hflip")

    copy = Path(light_copy(make_ready(cast, source)).file.path)

    found = [read_number(picture[:, ::-1]) for picture in pictures(copy)]
    assert found == list(range(40))
