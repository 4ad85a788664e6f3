from __future__ import annotations

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.media import film, jittered_ticks
from tests.recordings.films import numbers


def told(*words: str) -> dict[str, Any]:
    out = StringIO()
    call_command(*words, stdout=out)
    return dict(json.loads(out.getvalue()))


def test_it_works(tmp_path: Path):
    source = film(tmp_path / "film.mp4", frames=30, ticks=jittered_ticks(30))
    out = tmp_path / "made" / "here"

    report = told("prepare_media", str(source), "--out", str(out))

    assert json.loads((out / "report.json").read_text()) == report
    assert report["facts"]["frame_count"] == 30
    assert report["source_bytes"] == source.stat().st_size
    for kind in ("light", "full"):
        assert report[kind]["frame_count"] == 30
        assert report[kind]["has_all_frames"]
        assert report[kind]["has_exact_times"]
        assert report[kind]["bytes"] == (out / f"{kind}.mp4").stat().st_size
        assert numbers(out / f"{kind}.mp4") == list(range(30))
    assert {path.name for path in out.glob("*.jpg")} == {"poster.jpg", "strip.jpg"}
    assert report["strip"]["count"] == 30


def test_probing(tmp_path: Path):
    facts = told("probe_media", str(film(tmp_path / "film.mp4", frames=12, rate=60)))

    assert (facts["frame_count"], facts["rate"], facts["codec"]) == (12, 60.0, "h264")


@pytest.mark.parametrize("more", [[], ["--out", "out"]])
def test_what_is_no_film(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: list[str]):
    monkeypatch.chdir(tmp_path)
    Path("words.mp4").write_text("a shopping list")
    command = "prepare_media" if more else "probe_media"

    with pytest.raises(CommandError, match="not a film"):
        call_command(command, "words.mp4", *more)
    with pytest.raises(CommandError, match=r"nowhere\.mp4"):
        call_command(command, "nowhere.mp4", *more)


def test_no_room(settings, tmp_path: Path):
    settings.RECORDING_SPARE_BYTES = 10**18
    source = film(tmp_path / "film.mp4", frames=3)

    with pytest.raises(CommandError, match="no room left"):
        call_command("prepare_media", str(source), "--out", str(tmp_path))
