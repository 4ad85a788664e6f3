"""Films of others: from phones, cameras and tools, whole, odd and broken.

What each holds was counted with PyAV and is written down in the corpus's own list. Its pictures
are judged against `tests.recordings.decoded`, which shares nothing with the portal's filters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from portal.kit import storage
from portal.recordings import encoding, preparing, probing
from portal.recordings.fitting import FULL, LIGHT, Strip
from portal.recordings.models import Recording
from portal.recordings.probing import Film
from tests.cast import NOW, Cast
from tests.recordings.decoded import (
    Decoded,
    Matrix,
    Pixels,
    apart,
    decode,
    matrix_of,
    small,
    turned,
)
from tests.recordings.films import CORPUS, make_ready, mark, silent
from tests.soak import count

pytestmark = pytest.mark.skipif(not CORPUS.is_dir(), reason="The films of others are not here.")

MILLISECOND = Fraction(1, 1000)
# Steps of 255, mean over the picture: what a copy at crf 23 loses, and what a wrong turn costs.
SAME, OTHER = 6.0, 8.0
TURNS: list[Matrix] = [
    (1, 0, 0, 1), (-1, 0, 0, 1), (1, 0, 0, -1), (-1, 0, 0, -1),
    (0, 1, 1, 0), (0, 1, -1, 0), (0, -1, 1, 0), (0, -1, -1, 0),
]  # fmt: skip
# ITU-R BT.2408-8, 2.1: white of paper, in candela a square metre.
WHITE = 203


@dataclass(frozen=True)
class Known:
    """Frames, and the size with square pixels and upright."""

    frames: int
    size: tuple[int, int]
    rate: float | None = None
    """Frames a second of an even film."""
    is_variable: bool = False
    is_interlaced: bool = False
    filmed_rate: float | None = None
    is_plain: bool = False
    """One colour or nearly so: no turn of it looks wrong."""


KNOWN = {
    "actioncam_gpmf_karma.mp4": Known(362, (854, 480), 29.97),
    "cursed_vfr.mp4": Known(63, (3026, 1386), is_variable=True),
    "editlist_bframes_444.mp4": Known(12, (704, 576), 1),
    "editlist_empty_edit_1s.mp4": Known(270, (1920, 1080), 30, is_plain=True),
    "firstpts_10s_bframes_sar.mp4": Known(120, (1137, 640), 30),
    "fragmented_rot90_start83ms.mp4": Known(45, (1080, 1920), 24, is_plain=True),
    "h263.3gp": Known(15, (176, 144), 15),
    "hdr10_pq_vfr.mp4": Known(28, (1920, 1080), is_variable=True),
    "hlg10.mp4": Known(9, (1920, 1080), 29.99),
    "mpeg4_mp3_packed.avi": Known(96, (960, 400), is_variable=True, is_plain=True),
    "odd_161x121.webm": Known(30, (161, 121), 29.97),
    "old_phone_vfr_amr.3gp": Known(222, (192, 144), is_variable=True),
    "phone_hevc_hlg10_rot90.mp4": Known(9, (1080, 1920), 30),
    "phone_hevc_hlg_editlist_negpts.mp4": Known(77, (1080, 1920), is_variable=True),
    "phone_hevc_rot90_metatrack.mp4": Known(3, (1080, 1920), 29.98, filmed_rate=30),
    "portrait_4k60.mp4": Known(18, (2160, 3840), 60),
    "rot180.mp4": Known(149, (1280, 720), 29.97),
    "rotate_and_mirror.mp4": Known(30, (720, 1080), 29.97),
    "slowmo_android_vfr.mp4": Known(7, (1280, 720), is_variable=True, filmed_rate=240),
    "slowmo_sef_240.mp4": Known(63, (320, 240), 30, filmed_rate=240),
    "spatial_mvhevc.mov": Known(5, (1934, 2160), 90, is_plain=True),
    "start67ms_ac3_nullrate.mkv": Known(30, (1080, 720), 29.97),
    "start_1467ms_bframes.ts": Known(30, (854, 480), 30),
    "synth_240fps_bframes.mp4": Known(240, (320, 180), 240),
    "synth_hevc_120fps_rot270_moovend.mov": Known(240, (360, 640), 120),
    "synth_hlg.mov": Known(60, (640, 360), 30),
    "synth_interlaced_tff.mts": Known(50, (1024, 576), 25, is_interlaced=True),
    "synth_mediarecorder_noduration.webm": Known(60, (320, 240), is_plain=True),
    "synth_odd_321x241_444.mp4": Known(30, (320, 240), 30),
    "synth_vfr_jitter.mp4": Known(140, (320, 180), is_variable=True),
}
HIGH_RANGE = {
    "hdr10_pq_vfr.mp4": 16,
    "hlg10.mp4": 18,
    "phone_hevc_hlg10_rot90.mp4": 18,
    "phone_hevc_hlg_editlist_negpts.mp4": 18,
    "synth_hlg.mov": 18,
}
REFUSED = {
    "audio_only.mp4": "only sound",
    "header_only_297_claimed.mp4": "No picture",
    "invalid_bitstream.webm": "No picture",
    "malformed_box_unopenable.mp4": "index is missing",
    "synth_truncated_no_moov.mov": "index is missing",
    "vvc_unsupported.mp4": "“vvc” cannot be read",
}
LOST = {"invalid_nalu_lost_frames.mp4": "1 of its 30 pictures is missing"}


def test_every_film_of_theirs_is_known():
    files = {path.name for path in CORPUS.iterdir()} - {"MANIFEST.md"}

    assert files == {*KNOWN, *REFUSED, *LOST}


def looked_at(frames: int) -> Sequence[int]:
    return sorted({0, frames // 2})


def copies(path: Path, film: Film, folder: Path) -> list[Decoded]:
    """The light copy; under `make soak` the full one as well."""
    facts, shown = film.facts, looked_at(film.facts.frame_count)
    made = [encoding.copy_with_pictures(path, facts, Strip.of(facts), into=folder, report=silent)]
    found = [decode(made[0], stream=0, shown=shown)]
    if count(reduced=0, full=1):
        whole = encoding.copy_whole(path, facts, bound=FULL, into=folder, report=silent)
        found.append(decode(whole, stream=0, shown=shown))
    return found


@pytest.mark.parametrize("name", KNOWN)
def test_it_works(tmp_path: Path, name: str):
    known, path = KNOWN[name], CORPUS / name
    film = probing.read(path)
    facts = film.facts
    shown = looked_at(known.frames)

    source = decode(path, stream=facts.video_stream, shown=shown)
    for copy in copies(path, film, tmp_path):
        assert len(copy.times) == len(source.times) == facts.frame_count == known.frames
        for mine, theirs in zip(copy.times, source.times, strict=True):
            assert abs(mine - theirs) <= MILLISECOND
        decisive = sum(
            must_look_alike(copy.pictures[number], source.pictures[number], path)
            for number in shown
        )
        assert decisive or known.is_plain
        if name in HIGH_RANGE:
            must_be_of_the_normal_range(copy.pictures[0], source.pictures[0], path)

    assert (facts.width, facts.height) == known.size
    assert copy.pictures[0].shape[1::-1] in (LIGHT.fit(*known.size), FULL.fit(*known.size))
    assert (facts.is_variable, facts.is_interlaced) == (known.is_variable, known.is_interlaced)
    assert known.rate is None or facts.rate == pytest.approx(known.rate, rel=0.002)
    assert facts.filmed_rate == known.filmed_rate
    assert HIGH_RANGE.get(name) == (facts.transfer if facts.transfer in LIGHTS else None)


def must_look_alike(copy: Pixels, stored: Pixels, path: Path) -> int:
    """In the colours of the film, turned and mirrored as its own matrix says and no other way.
    How many other ways would have looked different."""
    matrix, seen, film = matrix_of(path), small(copy), small(stored)
    right = turned(film, matrix)
    if path.name not in HIGH_RANGE:
        assert apart(seen, right) <= SAME
    others = [turned(film, turn) for turn in TURNS]
    wrong = [other for other in others if apart(other, right) > OTHER]
    assert all(apart(seen, other) > apart(seen, right) + OTHER / 2 for other in wrong)
    return len(wrong)


def of_pq(picture: Pixels) -> Pixels:
    """Candela a square metre, linear (ITU-R BT.2100-2, table 4)."""
    m1, m2 = 2610 / 16384, 2523 / 4096 * 128
    c1, c2, c3 = 3424 / 4096, 2413 / 4096 * 32, 2392 / 4096 * 32
    power = picture ** (1 / m2)
    light: Pixels = 10_000 * (np.maximum(power - c1, 0) / (c2 - c3 * power)) ** (1 / m1)
    return light


def of_hlg(picture: Pixels) -> Pixels:
    """The same, on a screen of 1000 candela (ITU-R BT.2100-2, table 5)."""
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    scene = np.where(picture <= 0.5, picture**2 / 3, (np.exp((picture - c) / a) + b) / 12)
    brightness = scene @ np.array([0.2627, 0.6780, 0.0593])
    light: Pixels = 1000 * brightness[..., None] ** 0.2 * scene
    return light


LIGHTS = {16: of_pq, 18: of_hlg}
# From the primaries of BT.2020 to those of BT.709 (ITU-R BT.2087-0, 2.5, turned round).
NARROWER = np.array(
    [[1.6605, -0.5876, -0.0728], [-0.1246, 1.1329, -0.0083], [-0.0182, -0.1006, 1.1187]]
)
# Above this share of white the brightest parts are pressed together.
KNEE = 0.28
# Of a screen (ITU-R BT.1886).
GAMMA = 2.4
FEWEST_SPOTS = 50


def must_be_of_the_normal_range(copy: Pixels, stored: Pixels, path: Path) -> None:
    """Below the knee every light stays the same light; above it bright stays bright."""
    light = LIGHTS[HIGH_RANGE[path.name]](turned(stored, matrix_of(path))) / WHITE @ NARROWER.T
    light = np.clip(light, 0, 1)
    wanted, seen = small(light ** (1 / GAMMA)), small(copy)
    dark, bright = small(light).max(-1) < KNEE, small(light).min(-1) > 0.9

    # The drawn chart has hardly a colour that both spaces hold.
    assert path.name == "synth_hlg.mov" or dark.sum() >= FEWEST_SPOTS
    assert dark.sum() < FEWEST_SPOTS or apart(wanted[dark], seen[dark]) < SAME
    assert not bright.any() or seen[bright].mean() > 0.75


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_used_gets_one_sentence(name: str):
    with pytest.raises(probing.Unusable, match=REFUSED[name]):
        probing.probe(CORPUS / name)


@pytest.mark.parametrize("name", LOST)
def test_what_can_be_saved_is_and_is_called_shortened(cast: Cast, name: str):
    recording = make_ready(cast, CORPUS / name)

    assert recording.state == Recording.State.READY
    assert "shortened" in recording.problem
    assert LOST[name] in recording.problem
    copy = recording.renditions.get()
    assert recording.facts["frame_count"] == copy.frame_count == 29


def test_fields_become_whole_pictures(tmp_path: Path):
    """What moves has no comb: neighbouring lines differ less than they do in the film."""
    path = CORPUS / "synth_interlaced_tff.mts"
    facts = probing.probe(path)
    whole = encoding.copy_whole(path, facts, bound=FULL, into=tmp_path, report=silent)

    stored = decode(path, stream=facts.video_stream, shown=[25]).pictures[25]
    seen = decode(whole, stream=0, shown=[25]).pictures[25]

    assert comb(seen) < 0.6 * comb(stored)


def comb(picture: Pixels) -> float:
    """How much every line differs from the mean of the two beside it."""
    grey = picture.mean(-1)
    return float(np.abs(grey[1:-1] - (grey[:-2] + grey[2:]) / 2).mean())


def test_nothing_of_the_camera_is_in_what_is_served(cast: Cast):
    """Place, make and model stand in this film; not in its copies, nor in its pictures."""
    recording = make_ready(cast, CORPUS / "phone_hevc_hlg10_rot90.mp4")
    clip = mark(cast, recording, 1, 7)
    preparing.prepare_clip(clip, at=NOW, report=silent)
    told = [b"+37.74", b"Apple", b"iPhone", b"2021-05-25", b"Core Media"]
    original = Path(recording.original.path).read_bytes()
    assert all(words in original for words in told)

    served = [Path(copy.file.path) for copy in recording.renditions.all()]
    pictures = (storage.poster_name, storage.strip_name)
    served += [storage.path_of(name(recording.code)) for name in pictures]

    assert len(served) == 4
    for path in served:
        whole = path.read_bytes()
        assert not [words for words in told if words in whole]
        with av.open(str(path)) as container:
            assert [stream.type for stream in container.streams] == ["video"]
            assert not {"location", "creation_time", "make", "model"} & {*container.metadata}
        if path.suffix == ".jpg":
            with Image.open(path) as picture:
                assert not picture.getexif()
