from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from portal.recordings import probing
from portal.recordings.fitting import Strip
from tests.media import film, jittered_ticks
from tests.recordings.films import remux


@pytest.fixture
def short(tmp_path: Path) -> Path:
    return film(tmp_path / "short.mp4", frames=20)


def why(path: Path) -> str:
    with pytest.raises(probing.Unusable) as refusal:
        probing.probe(path)
    return str(refusal.value)


def test_it_works(short: Path):
    facts = probing.probe(short)

    assert (facts.width, facts.height, facts.rotation) == (320, 180, 0)
    assert (facts.frame_count, facts.rate, facts.is_variable) == (20, 30.0, False)
    assert facts.duration == pytest.approx(20 / 30, abs=1e-6)
    assert (facts.codec, facts.has_sound, facts.is_interlaced) == ("h264", False, False)
    assert facts.as_json()["frame_count"] == 20


@pytest.mark.parametrize("rate", [25, Fraction(30_000, 1001), 30, 60, 120, 240])
def test_the_rate_of_an_even_film(tmp_path: Path, rate: Fraction | int):
    facts = probing.probe(film(tmp_path / "even.mp4", frames=24, rate=rate))

    assert facts.rate == pytest.approx(float(rate), abs=0.001)
    assert not facts.is_variable
    assert facts.frame_count == 24


def test_a_clock_of_milliseconds_is_not_uneven(tmp_path: Path, short: Path):
    facts = probing.probe(remux(short, tmp_path / "short.mkv"))

    assert not facts.is_variable
    assert facts.rate == pytest.approx(30, abs=0.05)


def test_an_uneven_film(tmp_path: Path):
    ticks = jittered_ticks(40)

    read = probing.read(film(tmp_path / "uneven.mp4", frames=40, ticks=ticks))

    assert read.facts.is_variable
    assert [(tick - read.ticks[0]) * read.base for tick in read.ticks] == [
        Fraction(tick, 90_000) for tick in ticks
    ]


@pytest.mark.parametrize(("turn", "rotation"), [("90", 270), ("180", 180), ("270", 90)])
def test_a_phone_held_upright(tmp_path: Path, short: Path, turn: str, rotation: int):
    facts = probing.probe(remux(short, tmp_path / "turned.mp4", "-display_rotation", turn))

    assert facts.rotation == rotation
    assert (facts.width, facts.height) == ((320, 180) if rotation == 180 else (180, 320))


def test_a_turn_askew_is_no_turn(tmp_path: Path, short: Path):
    facts = probing.probe(remux(short, tmp_path / "askew.mp4", "-display_rotation", "17"))

    assert (facts.width, facts.height, facts.rotation) == (320, 180, 0)


def test_pixels_too_narrow_to_be_seen(tmp_path: Path, short: Path):
    narrow = ["-vf", "scale=16:64,setsar=1/200", "-c:v", "mpeg4"]

    facts = probing.probe(remux(short, tmp_path / "narrow.avi", after=narrow))

    assert (facts.width, facts.height) == (1, 64)
    assert Strip.of(facts).tile == (2, 64)


def sound(path: Path, *, pictures: Path | None = None) -> Path:
    """A second of silence, with the pictures of another film if there is one."""
    with av.open(str(path), "w") as target:
        stream = target.add_stream("aac", rate=48_000, layout="mono")
        frame = av.AudioFrame.from_ndarray(
            np.zeros((1, 48_000), np.float32), format="fltp", layout="mono"
        )
        frame.sample_rate = 48_000
        if pictures:
            with av.open(str(pictures)) as source:
                copied = target.add_stream_from_template(source.streams.video[0])
                for packet in source.demux(video=0):
                    if packet.dts is not None:
                        packet.stream = copied
                        target.mux(packet)
        target.mux(stream.encode(frame))
        target.mux(stream.encode())
    return path


def test_the_film_is_found_behind_the_sound(tmp_path: Path, short: Path):
    facts = probing.probe(sound(tmp_path / "both.mp4", pictures=short))

    assert facts.has_sound
    assert (facts.video_stream, facts.frame_count) == (1, 20)


def test_a_file_of_sound_alone(tmp_path: Path):
    assert "only sound" in why(sound(tmp_path / "sound.mp4"))


def test_an_empty_file(tmp_path: Path):
    path = tmp_path / "empty.mp4"
    path.touch()

    assert "is empty" in why(path)


@pytest.mark.parametrize(
    "words",
    [
        "a shopping list",
        "#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\nshort.mp4\n#EXT-X-ENDLIST\n",
        "ffconcat version 1.0\nfile short.mp4\n",
        '<svg xmlns="http://www.w3.org/2000/svg" width="64" height="64"><rect/></svg>',
        "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nm=video 9 RTP/AVP 96\n",
    ],
)
def test_text_that_calls_itself_a_film_opens_nothing(tmp_path: Path, short: Path, words: str):
    path = short.with_name("film.mp4")
    path.write_text(words)

    assert "not a film" in why(path)


def test_a_film_without_its_end(short: Path):
    whole = short.read_bytes()
    short.write_bytes(whole[: len(whole) * 2 // 3])

    assert "cut short" in why(short)


def test_a_film_whose_index_comes_first_and_whose_end_is_missing(tmp_path: Path, short: Path):
    path = remux(short, tmp_path / "fast.mp4", after=["-movflags", "+faststart"])
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) * 2 // 3])

    facts = probing.probe(path)

    assert facts.is_cut_short
    assert facts.frame_count < 20


def test_a_film_of_noise(tmp_path: Path, short: Path):
    path = remux(short, tmp_path / "fast.mp4", after=["-movflags", "+faststart"])
    whole = path.read_bytes()
    begin = whole.index(b"mdat") + 4
    path.write_bytes(whole[:begin] + b"\xa5" * (len(whole) - begin))

    assert "No picture" in why(path)


def test_a_kind_of_film_that_is_not_on_our_list(tmp_path: Path, short: Path):
    path = remux(short, tmp_path / "kind.mkv", after=["-c:v", "ffv1"])

    assert "“ffv1” cannot be read" in why(path)


@pytest.mark.parametrize(
    ("setting", "value", "said"),
    [
        ("RECORDING_MAX_BYTES", 1000, "larger than"),
        ("RECORDING_MAX_MINUTES", 0.01, "longer than"),
        ("RECORDING_MAX_FRAMES", 19, "more than 19 pictures."),
        ("RECORDING_MAX_WIDTH", 319, "319 x"),
        ("RECORDING_MAX_HEIGHT", 179, "x 179"),
        ("RECORDING_MAX_RATE", 29, "more than 29 pictures a second"),
    ],
)
def test_a_film_beyond_the_limits(settings, short: Path, setting: str, value: float, said: str):
    setattr(settings, setting, value)

    assert said in why(short)


@pytest.mark.parametrize(
    ("setting", "value"),
    [
        ("RECORDING_MAX_FRAMES", 20),
        ("RECORDING_MAX_WIDTH", 320),
        ("RECORDING_MAX_HEIGHT", 180),
        ("RECORDING_MAX_RATE", 30),
    ],
)
def test_a_film_at_the_limits(settings, short: Path, setting: str, value: int):
    setattr(settings, setting, value)

    assert probing.probe(short).frame_count == 20


def test_reading_takes_no_longer_than_allowed(monkeypatch, short: Path):
    monkeypatch.setattr(probing, "SECONDS", 0)

    assert "took too long" in why(short)
