from __future__ import annotations

import subprocess
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from portal.audit.models import Entry
from portal.kit import storage
from portal.recordings import cutting, preparing, probing
from portal.recordings.models import Clip, Recording, Rendition
from portal.recordings.timing import pack_times
from tests.cast import NOW, Cast
from tests.media import film, jittered_ticks, read_number
from tests.recordings.films import (
    bring_in,
    everything_kept,
    light_copy,
    make_ready,
    mark,
    numbers,
    pictures,
    remux,
    silent,
    stored_times,
    times,
)

MILLISECOND = Fraction(1, 1000)


@pytest.fixture
def short(tmp_path: Path) -> Path:
    return film(tmp_path / "short.mp4", frames=40)


def own_copy(cast: Cast, recording: Recording, first: int, last: int) -> Rendition:
    clip = mark(cast, recording, first, last)
    preparing.prepare_clip(clip, at=NOW, report=silent)
    return clip.renditions.get()


def same_times(copy: Rendition, source: list[Fraction]) -> bool:
    found = stored_times(copy)
    return found[0] == 0 and all(
        abs(one - (other - source[0])) <= MILLISECOND
        for one, other in zip(found, source, strict=True)
    )


def test_it_works(cast: Cast, short: Path):
    shares: list[float] = []
    recording = bring_in(cast, short)

    preparing.prepare(recording, at=NOW, report=shares.append)

    recording.refresh_from_db()
    copy = light_copy(recording)
    assert (recording.state, recording.problem) == (Recording.State.READY, "")
    assert recording.facts == probing.probe(short).as_json()
    assert (copy.kind, copy.clip, copy.first_frame) == (Rendition.Kind.LIGHT, None, 0)
    assert (copy.width, copy.height, copy.frame_count) == (320, 180, 40)
    path = Path(copy.file.path)
    assert (copy.size, copy.sha256) == (path.stat().st_size, storage.sha256(path))
    assert numbers(path) == list(range(40))
    assert shares[-1] == 1
    assert Entry.objects.filter(thing="recording", detail={"state": "ready"}).count() == 1


@pytest.mark.parametrize("rate", [25, Fraction(30_000, 1001), 60, 120, 240])
def test_every_frame_keeps_its_own_time(cast: Cast, tmp_path: Path, rate: Fraction | int):
    source = film(tmp_path / "even.mp4", frames=60, rate=rate)
    recording = make_ready(cast, source)
    copy, part = light_copy(recording), own_copy(cast, recording, 7, 52)

    assert same_times(copy, times(source))
    assert same_times(part, times(source)[7:53])
    assert stored_times(copy) == times(Path(copy.file.path))
    assert numbers(Path(copy.file.path)) == list(range(60))
    assert numbers(Path(part.file.path)) == list(range(7, 53))


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".ts"])
def test_an_uneven_film_stays_uneven(cast: Cast, tmp_path: Path, suffix: str):
    ticks = jittered_ticks(90)
    drawn = film(tmp_path / "drawn.mp4", frames=90, ticks=ticks)
    source = remux(drawn, tmp_path / f"uneven{suffix}")
    recording = make_ready(cast, source)
    copy, part = light_copy(recording), own_copy(cast, recording, 11, 60)

    assert recording.facts["is_variable"]
    assert same_times(copy, [Fraction(tick, 90_000) for tick in ticks])
    assert same_times(part, [Fraction(tick, 90_000) for tick in ticks[11:61]])
    assert numbers(Path(copy.file.path)) == list(range(90))
    assert numbers(Path(part.file.path)) == list(range(11, 61))


def test_a_clip_names_its_frames_as_the_recording_does(cast: Cast, short: Path):
    recording = make_ready(cast, short)

    part = own_copy(cast, recording, 12, 30)

    assert (part.kind, part.first_frame, part.frame_count) == (Rendition.Kind.FULL, 12, 19)
    assert part.seconds(12) == 0
    assert part.seconds(20) == light_copy(recording).seconds(20) - Fraction(12, 30)


def test_a_stretch_deep_in_a_film_whose_sound_begins_first(
    settings, cast: Cast, long: Path, tmp_path: Path
):
    source = tmp_path / "late.mp4"
    silence = ["-f", "lavfi", "-t", "3", "-i", "anullsrc"]
    both = ["-map", "0", "-map", "1", "-c:v", "copy"]
    words = [*silence, "-itsoffset", "1.5", "-i", str(long), *both, str(source)]
    subprocess.run([settings.FFMPEG, "-v", "error", *words], check=True)
    recording = make_ready(cast, source)

    part = own_copy(cast, recording, 400, 420)

    assert recording.facts["start"] == pytest.approx(1.5, abs=0.001)
    assert light_copy(recording).times[0] == 0
    assert numbers(Path(part.file.path)) == list(range(400, 421))


def test_of_several_tracks_the_film_is_taken(settings, cast: Cast, short: Path, tmp_path: Path):
    """Phones lay a still beside a film, larger than it and before it."""
    still = film(tmp_path / "still.mp4", frames=1, size=(640, 360))
    source = tmp_path / "motion.mp4"
    both = ["-i", str(short), "-map", "0", "-map", "1"]
    words = ["-v", "error", "-y", "-i", str(still), *both, "-c", "copy", str(source)]
    subprocess.run([settings.FFMPEG, *words], check=True)

    recording = make_ready(cast, source)

    assert recording.facts["video_stream"] == 1
    assert numbers(Path(light_copy(recording).file.path)) == list(range(40))


@pytest.mark.parametrize(
    ("drawn", "light", "full"),
    [
        ((1920, 1080), (960, 540), (1920, 1080)),
        ((2560, 1440), (960, 540), (1920, 1080)),
        ((1080, 1920), (540, 960), (1080, 1920)),
        ((1440, 1080), (720, 540), (1440, 1080)),
        ((270, 90), (270, 90), (270, 90)),
    ],
)
def test_the_copies_sizes(
    cast: Cast,
    tmp_path: Path,
    drawn: tuple[int, int],
    light: tuple[int, int],
    full: tuple[int, int],
):
    recording = make_ready(cast, film(tmp_path / "size.mp4", frames=4, size=drawn))
    copy, part = light_copy(recording), own_copy(cast, recording, 1, 3)

    assert (copy.width, copy.height) == light
    assert (part.width, part.height) == full
    assert numbers(Path(copy.file.path), scale=light[0] / drawn[0]) == [0, 1, 2, 3]
    assert numbers(Path(part.file.path), scale=full[0] / drawn[0]) == [1, 2, 3]


def test_odd_sides_become_even(cast: Cast, tmp_path: Path):
    source = film(tmp_path / "odd.webm", frames=4, size=(321, 181), codec="libvpx-vp9")

    copy = light_copy(make_ready(cast, source))

    assert (copy.width, copy.height) == (320, 180)
    assert numbers(Path(copy.file.path)) == [0, 1, 2, 3]


def test_the_filmstrip_shows_the_frames_it_says(cast: Cast, long: Path):
    recording = make_ready(cast, long)
    strip = recording.strip

    assert strip == {"step": 24, "columns": 10, "tile": [160, 90], "count": 20}
    with Image.open(storage.path_of(storage.strip_name(recording.code))) as sheet:
        assert sheet.size == (1600, 180)
        shown = np.asarray(sheet.convert("RGB"))
    for tile in range(20):
        left, top = tile % 10 * 160, tile // 10 * 90
        assert read_number(shown[top : top + 90, left : left + 160], scale=0.5) == tile * 24
    with Image.open(storage.path_of(storage.poster_name(recording.code))) as poster:
        assert poster.size == (320, 180)


def test_nothing_but_pictures_is_copied(cast: Cast, short: Path, tmp_path: Path):
    told = ["-metadata", "title=Ines at home", "-metadata", "location=+51.5-000.1/"]
    source = remux(short, tmp_path / "told.mp4", after=told)

    copy = light_copy(make_ready(cast, source))

    whole = Path(copy.file.path).read_bytes()
    assert b"Ines at home" in source.read_bytes()
    assert b"Ines" not in whole
    assert b"+51.5" not in whole
    with av.open(copy.file.path) as container:
        [stream] = container.streams
        assert isinstance(stream, av.VideoStream)
        assert next(container.decode(stream)).format.name == "yuv420p"
    # The index first: a player need not fetch the end before it can begin.
    assert whole.index(b"moov") < whole.index(b"mdat")


def test_a_key_frame_every_half_second(cast: Cast, short: Path):
    with av.open(light_copy(make_ready(cast, short)).file.path) as container:
        keys = [packet.is_keyframe for packet in container.demux(video=0) if packet.size]

    assert [place for place, is_key in enumerate(keys) if is_key] == [0, 15, 30]


def test_a_second_run_leaves_one_set_of_files(cast: Cast, short: Path):
    recording = make_ready(cast, short)
    clip = mark(cast, recording, 2, 30)
    preparing.prepare_clip(clip, at=NOW, report=silent)
    before = everything_kept()

    preparing.prepare(recording, at=NOW, report=silent)
    preparing.prepare_clip(clip, at=NOW, report=silent)

    after = everything_kept()
    assert [Path(name).parent for name in after] == [Path(name).parent for name in before]
    assert len(after) == 5
    assert Rendition.objects.count() == 2
    for copy in Rendition.objects.all():
        assert storage.sha256(Path(copy.file.path)) == copy.sha256


def test_what_a_killed_worker_left_is_cleared_away(cast: Cast, short: Path):
    recording = make_ready(cast, short)
    left = storage.path_of(f"copies/{recording.code}-of-a-killed-worker.mp4")
    left.write_bytes(b"half")

    preparing.prepare(recording, at=NOW, report=silent)

    assert not left.exists()


def test_a_recording_thrown_away_meanwhile(cast: Cast, short: Path):
    recording = bring_in(cast, short)

    def throw(_share: float) -> None:
        Recording.objects.update(thrown_away_at=NOW)

    preparing.prepare(recording, at=NOW, report=throw)

    assert everything_kept() == [recording.original.name]
    assert not Rendition.objects.exists()
    recording.refresh_from_db()
    preparing.prepare(recording, at=NOW, report=silent)
    assert everything_kept() == [recording.original.name]


def test_a_clip_removed_meanwhile(cast: Cast, short: Path):
    recording = make_ready(cast, short)
    clip = mark(cast, recording, 2, 30)
    Clip.objects.update(removed_at=NOW)

    preparing.prepare_clip(clip, at=NOW, report=silent)

    assert Rendition.objects.count() == 1


def test_no_work_is_done_for_a_clip_that_was_removed(cast: Cast, short: Path):
    clip = mark(cast, make_ready(cast, short), 3, 9)
    cutting.remove(clip, by=cast.coach, at=NOW)
    clip.refresh_from_db()
    shares: list[float] = []

    preparing.prepare_clip(clip, at=NOW, report=shares.append)

    assert not shares
    assert not clip.renditions.exists()


def test_work_that_is_interrupted_leaves_nothing(cast: Cast, short: Path):
    recording = bring_in(cast, short)

    def lose(_share: float) -> None:
        raise RuntimeError("The lease is somebody else's.")

    with pytest.raises(RuntimeError):
        preparing.prepare(recording, at=NOW, report=lose)

    assert everything_kept() == [recording.original.name]
    recording.refresh_from_db()
    assert recording.state == Recording.State.WAITING


def test_a_disk_that_is_full(settings, cast: Cast, short: Path):
    recording = bring_in(cast, short)
    settings.RECORDING_SPARE_BYTES = 10**18

    with pytest.raises(storage.NoRoom, match="no room left"):
        preparing.prepare(recording, at=NOW, report=silent)

    assert everything_kept() == [recording.original.name]


def test_a_disk_that_fills_up_on_the_way(cast: Cast, long: Path, monkeypatch: pytest.MonkeyPatch):
    recording = bring_in(cast, long)
    monkeypatch.setattr(storage, "room", lambda: 40_000)

    with pytest.raises(storage.NoRoom):
        preparing.prepare(recording, at=NOW, report=silent)

    assert everything_kept() == [recording.original.name]
    assert not Rendition.objects.exists()


def test_a_film_that_lost_its_end_is_ready_and_says_so(cast: Cast, short: Path, tmp_path: Path):
    source = remux(short, tmp_path / "fast.mp4", after=["-movflags", "+faststart"])
    whole = source.read_bytes()
    source.write_bytes(whole[: len(whole) * 2 // 3])

    recording = make_ready(cast, source)

    copy = light_copy(recording)
    assert recording.state == Recording.State.READY
    assert "cut short" in recording.problem
    assert recording.facts["frame_count"] == copy.frame_count < 40
    assert numbers(Path(copy.file.path))[:10] == list(range(10))


def test_a_film_that_lost_pictures_is_ready_and_says_so(
    cast: Cast, short: Path, monkeypatch: pytest.MonkeyPatch
):
    recording = bring_in(cast, short)
    facts = probing.probe(short)
    promised = replace(facts, frame_count=42)
    monkeypatch.setattr(probing, "probe", lambda _path: promised)

    preparing.prepare(recording, at=NOW, report=silent)

    recording.refresh_from_db()
    assert recording.state == Recording.State.READY
    assert "2 of its 42 pictures are missing" in recording.problem
    assert recording.facts["frame_count"] == light_copy(recording).frame_count == 40


def test_a_stretch_that_does_not_match_is_refused(cast: Cast, short: Path):
    recording = make_ready(cast, short)
    known = pack_times([number * 512 for number in range(50)])
    Rendition.objects.update(packed_times=known)

    with pytest.raises(probing.Unusable, match="picture for picture"):
        own_copy(cast, recording, 2, 45)

    assert Rendition.objects.count() == 1


def test_a_clip_before_its_recording_is_ready(cast: Cast, short: Path):
    clip = mark(cast, bring_in(cast, short), 2, 9)

    with pytest.raises(preparing.NotReady, match=str(clip.code)):
        preparing.prepare_clip(clip, at=NOW, report=silent)


def test_a_clip_when_the_original_is_gone(cast: Cast, short: Path):
    recording = make_ready(cast, short)
    Path(recording.original.path).unlink()

    with pytest.raises(probing.Unusable, match="no longer kept"):
        preparing.prepare_clip(mark(cast, recording, 2, 9), at=NOW, report=silent)


def test_last_frame_of_all(cast: Cast, short: Path):
    recording = make_ready(cast, short)

    part = own_copy(cast, recording, 38, 39)

    assert numbers(Path(part.file.path)) == [38, 39]
    assert [picture.shape for picture in pictures(Path(part.file.path))] == [(180, 320, 3)] * 2
