from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from portal.recordings import encoding, probing
from portal.recordings.fitting import FULL, LIGHT, Strip
from tests.media import film, jittered_ticks
from tests.recordings.films import numbers, remux, silent, times


def test_it_works(tmp_path: Path):
    source = film(tmp_path / "film.mp4", frames=20)

    copy = encoding.copy_whole(
        source, probing.probe(source), bound=FULL, into=tmp_path, report=silent
    )

    assert numbers(copy) == list(range(20))


@pytest.mark.parametrize(("first", "last"), [(0, 9), (330, 350), (401, 402), (455, 479)])
@pytest.mark.parametrize("suffix", [".mp4", ".ts", ".mkv"])
def test_a_stretch_deep_in_a_film(long: Path, tmp_path: Path, suffix: str, first: int, last: int):
    source = remux(long, tmp_path / f"long{suffix}")
    facts = probing.probe(source)
    stretch = encoding.Stretch(first, last, times(source))

    copy = encoding.copy_stretch(source, facts, stretch, into=tmp_path, report=silent)

    assert numbers(copy) == list(range(first, last + 1))


def test_a_jump_that_lands_elsewhere_is_noticed(tmp_path: Path):
    ticks = jittered_ticks(400)
    source = film(tmp_path / "uneven.mp4", frames=400, ticks=ticks)
    facts = replace(probing.probe(source), start=0.5)
    stretch = encoding.Stretch(330, 350, [Fraction(tick, 90_000) for tick in ticks])

    copy = encoding.copy_stretch(source, facts, stretch, into=tmp_path, report=silent)

    assert stretch.times[330] > encoding.WORTH_SEEKING
    assert numbers(copy) == list(range(330, 351))


def test_a_program_that_was_killed_may_be_run_again(settings, tmp_path: Path):
    source = film(tmp_path / "film.mp4", frames=20)
    facts = probing.probe(source)
    settings.FFMPEG = str(tmp_path / "ffmpeg")
    Path(settings.FFMPEG).write_text("#!/bin/sh\nkill -9 $$\n")
    Path(settings.FFMPEG).chmod(0o755)

    with pytest.raises(encoding.Killed, match="signal 9"):
        encoding.copy_whole(source, facts, bound=FULL, into=tmp_path, report=silent)


def test_a_program_that_gives_up_is_told_to_people(settings, tmp_path: Path):
    source = film(tmp_path / "film.mp4", frames=20)
    facts = replace(probing.probe(source), video_stream=7)

    with pytest.raises(probing.Unusable, match="Export it as MP4"):
        encoding.copy_whole(source, facts, bound=FULL, into=tmp_path, report=silent)


def test_a_program_that_never_ends_is_stopped(settings, monkeypatch, tmp_path: Path):
    source = film(tmp_path / "film.mp4", frames=20)
    facts = probing.probe(source)
    settings.FFMPEG = str(tmp_path / "ffmpeg")
    Path(settings.FFMPEG).write_text("#!/bin/sh\nexec sleep 60\n")
    Path(settings.FFMPEG).chmod(0o755)
    monkeypatch.setattr(encoding, "LEAST_SECONDS", 0)
    monkeypatch.setattr(encoding, "SECONDS_A_FRAME", 0)

    with pytest.raises(probing.Unusable, match="took too long"):
        encoding.copy_whole(source, facts, bound=FULL, into=tmp_path, report=silent)


@pytest.mark.parametrize(
    ("size", "fitted"),
    [
        ((1920, 1080), (960, 540)),
        ((1080, 1920), (540, 960)),
        ((1137, 640), (958, 540)),
        ((161, 121), (160, 120)),
        ((3, 5000), (2, 960)),
    ],
)
def test_sizes(size: tuple[int, int], fitted: tuple[int, int]):
    assert LIGHT.fit(*size) == fitted


@pytest.mark.parametrize(
    ("frames", "rate", "step", "count"),
    [(2, 30, 1, 2), (60, 30, 3, 20), (3600, 30, 30, 120), (81_000, 30, 405, 200)],
)
def test_tiles_of_the_filmstrip(tmp_path: Path, frames: int, rate: int, step: int, count: int):
    facts = probing.probe(film(tmp_path / "film.mp4", frames=2))

    strip = Strip.of(replace(facts, frame_count=frames, rate=rate))

    assert (strip.step, strip.count(frames)) == (step, count)
