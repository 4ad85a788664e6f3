"""Files made to hurt: they name addresses and other files, are huge inside, or simply spoilt."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from portal.recordings import confining, encoding, probing
from portal.recordings.confining import GIB, Limits
from portal.recordings.fitting import FULL
from portal.recordings.models import Recording
from portal.recordings.probing import Unusable
from tests.cast import Cast
from tests.media import film
from tests.recordings.films import CORPUS, light_copy, make_ready, remux, silent
from tests.recordings.mutating import spoilt
from tests.soak import count

SECONDS = 60
SPOILT_FILES = count(reduced=40, full=300)
# Short ones of many kinds.
SOURCES = [
    "editlist_bframes_444.mp4",
    "h263.3gp",
    "invalid_nalu_lost_frames.mp4",
    "mpeg4_mp3_packed.avi",
    "odd_161x121.webm",
    "phone_hevc_hlg10_rot90.mp4",
    "slowmo_android_vfr.mp4",
    "slowmo_sef_240.mp4",
    "start67ms_ac3_nullrate.mkv",
    "start_1467ms_bframes.ts",
    "synth_interlaced_tff.mts",
    "synth_mediarecorder_noduration.webm",
    "synth_odd_321x241_444.mp4",
    "synth_vfr_jitter.mp4",
]


@pytest.fixture
def short(tmp_path: Path) -> Path:
    return film(tmp_path / "short.mp4", frames=20)


@pytest.fixture
def listener() -> Iterator[socket.socket]:
    """Whoever calls it is found in its queue."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setblocking(False)
        yield server


def was_called(listener: socket.socket) -> bool:
    try:
        listener.accept()[0].close()
    except BlockingIOError:
        return False
    return True


LISTS = {
    "playlist of an address": "#EXTM3U\n#EXTINF:2,\nhttp://127.0.0.1:{port}/film.ts\n",
    "playlist of another film": "#EXTM3U\n#EXTINF:2,\n{film}\n#EXT-X-ENDLIST\n",
    "key of a playlist": (
        '#EXTM3U\n#EXT-X-KEY:METHOD=AES-128,URI="http://127.0.0.1:{port}/key"\n#EXTINF:2,\n{film}\n'
    ),
    "concat of another film": "ffconcat version 1.0\nfile {name}\n",
    "concat of any file": "ffconcat version 1.0\nfile /etc/passwd\n",
    "concat of an address": "ffconcat version 1.0\nfile http://127.0.0.1:{port}/film.mp4\n",
    "session of a stream": (
        "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nm=video {port} RTP/AVP 96\n"
    ),
    "stream by name": "rtsp://127.0.0.1:{port}/film",
    "dash": (
        '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static"><Period>'
        '<AdaptationSet mimeType="video/mp4"><Representation id="1" bandwidth="1">'
        "<BaseURL>http://127.0.0.1:{port}/film.mp4</BaseURL>"
        "</Representation></AdaptationSet></Period></MPD>"
    ),
    "drawing": (
        '<svg xmlns="http://www.w3.org/2000/svg" width="64" height="64">'
        '<image href="http://127.0.0.1:{port}/a.png"/></svg>'
    ),
}


@pytest.mark.parametrize("kind", LISTS)
def test_what_names_other_places_opens_none(short: Path, listener: socket.socket, kind: str):
    """Neither the reader nor, should it ever be asked, the maker of copies."""
    facts = probing.probe(short)
    named = {"port": listener.getsockname()[1], "film": short, "name": short.name}
    hostile = short.with_name("holiday.mp4")
    hostile.write_text(LISTS[kind].format(**named))

    with pytest.raises(Unusable, match="not a film"):
        probing.probe(hostile)
    with pytest.raises(Unusable, match="No copy"):
        encoding.copy_whole(hostile, facts, bound=FULL, into=short.parent, report=silent)

    assert not was_called(listener)


def test_pictures_that_lie_in_another_file_stay_there(short: Path, tmp_path: Path):
    """A track of an MP4 may say that its pictures lie elsewhere."""
    whole = short.read_bytes()
    here, there = b"url \x00\x00\x00\x01", b"url \x00\x00\x00\x00"
    assert here in whole
    hostile = tmp_path / "elsewhere.mp4"
    at = whole.index(b"mdat")
    hostile.write_bytes(whole.replace(here, there)[: at + 4] + b"\0" * (len(whole) - at - 4))

    with pytest.raises(Unusable):
        facts = probing.probe(hostile)
        encoding.copy_whole(hostile, facts, bound=FULL, into=tmp_path, report=silent)


def test_pictures_larger_than_the_file_says(short: Path, tmp_path: Path):
    """The small file unpacks to 64 million points; its head says 320 x 180."""
    huge = film(tmp_path / "huge.mp4", frames=2, size=(8192, 8192), options={"preset": "ultrafast"})
    whole = huge.read_bytes()
    claimed = whole.replace((8192).to_bytes(2) * 2, (320).to_bytes(2) + (180).to_bytes(2))
    assert claimed != whole
    huge.write_bytes(claimed)

    with pytest.raises(Unusable):
        probing.probe(huge)
    with pytest.raises(Unusable):
        encoding.copy_whole(huge, probing.probe(short), bound=FULL, into=tmp_path, report=silent)


def test_more_streams_than_any_camera_has(settings, short: Path, tmp_path: Path):
    many = [word for _ in range(20) for word in ("-map", "0:v")]
    crowded = remux(short, tmp_path / "crowd.mp4", after=many)

    with pytest.raises(Unusable):
        probing.probe(crowded)


def test_more_pictures_than_a_training_has(settings, short: Path, tmp_path: Path):
    settings.RECORDING_MAX_FRAMES = 500
    bomb = film(tmp_path / "bomb.mp4", frames=600, size=(64, 64), options={"preset": "ultrafast"})

    with pytest.raises(Unusable, match="more than 500 pictures"):
        probing.probe(bomb)


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    """A minute and a gibibyte for each program; whoever needs more is stopped and seen."""

    def limits(*, seconds: int, file_bytes: int) -> Limits:
        return Limits(min(seconds, SECONDS), file_bytes, memory_bytes=GIB)

    monkeypatch.setattr(confining, "Limits", limits)


def sources(folder: Path) -> list[Path]:
    drawn = film(folder / "drawn.mp4", frames=20)
    others = [CORPUS / name for name in SOURCES] if CORPUS.is_dir() else []
    return [
        drawn,
        remux(drawn, folder / "drawn.mkv"),
        remux(drawn, folder / "drawn.ts"),
        *others,
    ]


@pytest.mark.usefixtures("narrow")
def test_spoilt_films_are_saved_or_refused(cast: Cast, tmp_path: Path):
    """Each is ready with all its pictures in order, or refused in a sentence: nothing else."""
    whole = [path.read_bytes() for path in sources(tmp_path)]
    saved = refused = 0
    for number in range(SPOILT_FILES):
        path = tmp_path / f"spoilt {number}.mp4"
        path.write_bytes(spoilt(whole[number % len(whole)], number=number))
        try:
            recording = make_ready(cast, path)
        except Unusable as problem:
            assert str(problem).endswith(".")
            refused += 1
            continue
        assert recording.state == Recording.State.READY
        ticks = light_copy(recording).times
        assert all(after > before for before, after in pairwise(ticks))
        saved += 1

    assert saved
    assert refused
