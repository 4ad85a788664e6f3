from __future__ import annotations

import errno
import hashlib
import os
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from portal.audit.models import Entry
from portal.kit import storage
from portal.people.models import User
from portal.recordings import uploading
from portal.recordings.models import Recording
from tests.cast import NOW, Cast
from tests.recordings.films import everything_kept

# What a film begins with; uploading looks no further.
FILM = b"\x00\x00\x00\x18ftypmp42" + bytes(range(256)) * 400


def take_in(
    cast: Cast,
    blocks: Iterable[bytes] | None = None,
    *,
    name: str = "lane 4.mov",
    length: int | None = len(FILM),
) -> Recording:
    return uploading.receive(
        cast.session,
        name=name,
        blocks=[FILM[:7], FILM[7:5000], FILM[5000:]] if blocks is None else blocks,
        length=length,
        by=cast.assistant,
        at=NOW,
    )


def refusal(cast: Cast, blocks: Iterable[bytes], *, length: int | None = None) -> str:
    """The reason; and nothing of the file is left."""
    with pytest.raises(uploading.Refused) as refused:
        take_in(cast, blocks, length=length)
    assert everything_kept() == []
    assert not Recording.objects.exists()
    return str(refused.value)


def test_it_works(cast: Cast):
    recording = take_in(cast)

    path = Path(recording.original.path)
    assert path.read_bytes() == FILM
    assert recording.original.name == f"originals/{recording.code}.film"
    assert recording.size == len(FILM)
    assert recording.sha256 == hashlib.sha256(FILM).hexdigest()
    assert (recording.state, recording.filmed_by) == (Recording.State.WAITING, cast.assistant)
    assert recording.name == "lane 4.mov"
    assert everything_kept() == [recording.original.name]
    [entry] = Entry.objects.all()
    assert (entry.thing, entry.thing_code) == ("recording", recording.code)
    assert "lane" not in str(entry.detail)


@pytest.mark.parametrize("length", [None, len(FILM)])
def test_the_length_may_be_unknown(cast: Cast, length: int | None):
    assert take_in(cast, length=length).size == len(FILM)


def test_an_upload_that_broke_off(cast: Cast):
    said = refusal(cast, [FILM[:5000]], length=len(FILM))

    assert "broke off: 5000 of 102412 bytes" in said


def test_an_upload_that_goes_on_too_long(cast: Cast):
    assert "broke off" in refusal(cast, [FILM, b"more"], length=len(FILM))


def test_a_line_that_breaks(cast: Cast):
    def breaks() -> Iterator[bytes]:
        yield FILM[:5000]
        raise ConnectionResetError(errno.ECONNRESET, "reset")

    with pytest.raises(ConnectionResetError):
        take_in(cast, breaks())

    assert everything_kept() == []
    assert not Recording.objects.exists()


def test_an_empty_file(cast: Cast):
    assert "is empty" in refusal(cast, [])


@pytest.mark.parametrize("length", [len(FILM), None])
def test_a_file_that_is_too_large(settings, cast: Cast, length: int | None):
    settings.RECORDING_MAX_BYTES = len(FILM) - 1

    assert "larger than" in refusal(cast, [FILM], length=length)


def test_a_file_of_the_largest_size(settings, cast: Cast):
    settings.RECORDING_MAX_BYTES = len(FILM)

    assert take_in(cast).size == len(FILM)


def test_a_disk_without_room(settings, cast: Cast):
    settings.RECORDING_SPARE_BYTES = 10**18

    assert "no room left" in refusal(cast, [FILM], length=len(FILM))


def test_a_disk_without_room_for_this_one(settings, cast: Cast, tmp_path: Path):
    settings.RECORDING_SPARE_BYTES = shutil.disk_usage(tmp_path).free - 50_000

    assert "no room left" in refusal(cast, [FILM], length=10**9)


def test_a_disk_that_fills_up_on_the_way(cast: Cast):
    """A block stands for the write that fails: the caller cannot tell them apart either."""

    def fills() -> Iterator[bytes]:
        yield FILM[:5000]
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    assert "no room left" in refusal(cast, fills(), length=len(FILM))


def test_a_row_that_cannot_be_written(cast: Cast):
    with pytest.raises(ValueError, match="unsaved"):
        uploading.receive(
            cast.session, name="x", blocks=[FILM], length=None, by=User(name="nobody"), at=NOW
        )

    assert everything_kept() == []


@pytest.mark.parametrize(
    "head", [b"%PDF-1.7 minutes", b"\xff\xd8\xff\xe0\x00\x10JFIF a photo", b"PK\x03\x04" * 4]
)
def test_a_file_that_is_plainly_something_else(cast: Cast, head: bytes):
    asked: list[int] = []

    def blocks() -> Iterator[bytes]:
        for number in range(100):
            asked.append(number)
            yield head + bytes(1000)

    assert "not a film" in refusal(cast, blocks())
    assert asked == [0]


@pytest.mark.parametrize(
    "head",
    [
        b"\x00\x00\x00\x08wide\x00\x00",
        b"\x1aE\xdf\xa3",
        b"RIFF____AVI ",
        b"\x47\x40\x11",
        b"\x00\x00\x00\x00\x47\x40\x11",
        b"FLV\x01",
    ],
)
def test_the_beginnings_of_films(cast: Cast, head: bytes):
    film = head + bytes(1000)

    assert take_in(cast, [film], length=len(film)).size == len(film)


def test_the_same_film_twice_in_a_session(cast: Cast):
    first = take_in(cast)

    with pytest.raises(uploading.Refused, match=r"already in this session, as “lane 4\.mov”"):
        take_in(cast, name="copy of lane 4.mov")

    assert everything_kept() == [first.original.name]


def test_the_same_film_again_after_it_was_thrown_away(cast: Cast):
    first = take_in(cast)
    Recording.objects.update(thrown_away_at=NOW)

    assert take_in(cast).sha256 == first.sha256


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\Films\\lane 2.mov", "lane 2.mov"),
        ("lane\x00\n 2.mov", "lane 2.mov"),
        ("", "film"),
        ("/", "film"),
        ("é" * 300, "é" * 120),
    ],
)
def test_the_name_is_only_a_name(cast: Cast, sent: str, kept: str):
    assert take_in(cast, name=sent).name == kept


def test_what_a_killed_server_left_goes_after_a_day(cast: Cast):
    old, young = storage.path_of("incoming/old.part"), storage.path_of("incoming/young.part")
    old.parent.mkdir(parents=True)
    for path in (old, young):
        path.write_bytes(b"half a film")
    then = old.stat().st_mtime - storage.STALE_SECONDS - 60
    os.utime(old, (then, then))

    take_in(cast)

    assert not old.exists()
    assert young.exists()
