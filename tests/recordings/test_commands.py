from __future__ import annotations

import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.media import film, jittered_ticks
from tests.recordings.films import CORPUS, numbers


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


FRAMES = {
    "cursed_vfr.mp4": 63,
    "hlg10.mp4": 9,
    "phone_hevc_rot90_metatrack.mp4": 3,
    "fragmented_rot90_start83ms.mp4": 45,
    "editlist_bframes_444.mp4": 12,
    "start_1467ms_bframes.ts": 30,
    "synth_interlaced_tff.mts": 50,
    "synth_mediarecorder_noduration.webm": 60,
    "slowmo_sef_240.mp4": 63,
}
REFUSED = {
    "audio_only.mp4": "only sound",
    "header_only_297_claimed.mp4": "No picture",
    "invalid_bitstream.webm": "No picture",
    "malformed_box_unopenable.mp4": "index is missing",
    "vvc_unsupported.mp4": "“vvc” cannot be read",
}
needs_corpus = pytest.mark.skipif(not CORPUS.is_dir(), reason="The films of others are not here.")


@needs_corpus
@pytest.mark.parametrize("name", FRAMES)
def test_the_films_of_others_keep_every_frame(tmp_path: Path, name: str):
    report = told("prepare_media", str(CORPUS / name), "--out", str(tmp_path))

    assert report["facts"]["frame_count"] == FRAMES[name]
    for kind in ("light", "full"):
        assert report[kind]["frame_count"] == FRAMES[name]
        assert report[kind]["has_exact_times"]


@needs_corpus
@pytest.mark.parametrize("name", REFUSED)
def test_the_films_of_others_that_cannot_be_used(name: str):
    with pytest.raises(CommandError, match=REFUSED[name]):
        call_command("probe_media", str(CORPUS / name))


@needs_corpus
def test_a_film_of_others_that_lost_a_picture(tmp_path: Path):
    report = told(
        "prepare_media", str(CORPUS / "invalid_nalu_lost_frames.mp4"), "--out", str(tmp_path)
    )

    assert (report["facts"]["frame_count"], report["light"]["frame_count"]) == (30, 29)
    assert not report["light"]["has_all_frames"]
