"""The protocol word by word: what each request of tus 1.0 must be answered."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from portal.jobs.models import Job
from portal.kit.storage import path_of
from portal.recordings import resuming
from portal.recordings.models import Arrival, Recording
from tests.cast import NOW, Cast, signed_in
from tests.recordings.films import everything_kept
from tests.recordings.pieces import (
    FILM,
    PIECE,
    TUS,
    announce,
    begun,
    head,
    offset,
    packed,
    patch,
)


@pytest.fixture
def client(cast: Cast) -> Client:
    return signed_in(cast.assistant)


@pytest.fixture
def address(client: Client, cast: Cast) -> str:
    return begun(client, cast)


def test_it_works(client: Client, cast: Cast):
    told = f"filename {packed('nähe 4.mp4')},filetype {packed('video/mp4')}"
    address = begun(client, cast, Upload_Metadata=told)

    first = patch(client, address, FILM[:5000])
    last = patch(client, address, FILM[5000:], at=5000)

    assert (first.status_code, first.headers["Upload-Offset"]) == (204, "5000")
    assert (last.status_code, last.headers["Upload-Offset"]) == (204, str(len(FILM)))
    assert first.headers["Upload-Expires"].endswith("GMT")
    recording = Recording.objects.get()
    assert Path(recording.original.path).read_bytes() == FILM
    assert recording.sha256 == hashlib.sha256(FILM).hexdigest()
    assert (recording.name, recording.filmed_by) == ("nähe 4.mp4", cast.assistant)
    assert everything_kept() == [recording.original.name]
    assert Job.objects.get().key == f"prepare:{recording.code}"


@pytest.mark.parametrize("place", ["announce", "arrival"])
def test_what_the_portal_can_do(client: Client, cast: Cast, address: str, place: str, settings):
    asked = reverse("recordings:announce", args=[cast.session.code])

    answer = client.options(asked if place == "announce" else address)

    assert answer.status_code == 204
    assert answer.headers["Tus-Version"] == "1.0.0"
    named = set(answer.headers["Tus-Extension"].split(","))
    assert named == {*("creation", "creation-with-upload", "checksum", "expiration", "termination")}
    assert answer.headers["Tus-Max-Size"] == str(settings.RECORDING_MAX_BYTES)
    assert answer.headers["Tus-Checksum-Algorithm"].split(",") == ["sha1", "sha256"]


@pytest.mark.parametrize("version", ["", "0.2.2"])
def test_another_version(client: Client, cast: Cast, address: str, version: str):
    again = announce(client, cast, Tus_Resumable=version)
    moved = patch(client, address, FILM[:10], **{"Tus-Resumable": version})

    for answer in (again, moved):
        assert answer.status_code == 412
        assert answer.headers["Tus-Version"] == "1.0.0"
        assert answer.headers["Tus-Resumable"] == "1.0.0"
    assert Arrival.objects.count() == 1
    assert offset(client, address) == 0


def test_creation(client: Client, cast: Cast):
    answer = announce(client, cast)

    assert answer.status_code == 201
    arrival = Arrival.objects.get()
    assert answer.headers["Location"] == reverse("recordings:arrival", args=[arrival.code])
    assert answer.headers["Upload-Expires"]
    assert answer.headers["Tus-Resumable"] == "1.0.0"


@pytest.mark.parametrize("length", ["", "-1", "ten", "+5", "1e3", "1.0", "٣", "9" * 30])
def test_a_length_that_is_none(client: Client, cast: Cast, length: str):
    assert announce(client, cast, Upload_Length=length).status_code == 400
    assert announce(client, cast, Upload_Length="", Upload_Defer_Length="1").status_code == 400
    assert everything_kept() == []
    assert not Arrival.objects.exists()


def test_too_large_is_said_before_a_byte_is_sent(client: Client, cast: Cast, settings):
    settings.RECORDING_MAX_BYTES = 1000

    answer = announce(client, cast, Upload_Length="1001")

    assert answer.status_code == 413
    assert "larger than" in answer.json()["problem"]
    assert announce(client, cast, Upload_Length="1000").status_code == 201


def test_no_room_is_said_before_a_byte_is_sent(client: Client, cast: Cast, settings):
    settings.RECORDING_SPARE_BYTES = 10**18

    answer = announce(client, cast)

    assert answer.status_code == 507
    assert "no room left" in answer.json()["problem"]


@pytest.mark.parametrize("kind", ["image/jpeg", "text/plain", "application/pdf"])
def test_what_calls_itself_no_film_is_refused_at_once(client: Client, cast: Cast, kind: str):
    answer = announce(client, cast, Upload_Metadata=f"filetype {packed(kind)}")

    assert answer.status_code == 422
    assert "not a film" in answer.json()["problem"]


def test_what_is_no_film_is_refused_with_its_first_bytes(client: Client, address: str):
    answer = patch(client, address, b"a shopping list, and a long one")

    assert answer.status_code == 422
    assert "not a film" in answer.json()["problem"]
    assert head(client, address).status_code == 404
    assert everything_kept() == []


def test_nothing_is_whole_at_once(client: Client, cast: Cast):
    address = begun(client, cast, Upload_Length="0")

    assert offset(client, address) == 0
    assert Recording.objects.get().size == 0


@pytest.mark.parametrize("size", [5000, len(FILM)])
def test_creation_with_the_first_bytes(client: Client, cast: Cast, size: int):
    answer = announce(client, cast, body=FILM[:size])

    assert answer.status_code == 201
    assert answer.headers["Upload-Offset"] == str(size)
    assert offset(client, answer.headers["Location"]) == size
    assert Recording.objects.count() == (size == len(FILM))


def test_creation_with_bytes_of_another_kind(client: Client, cast: Cast):
    assert announce(client, cast, body=FILM, kind="text/plain").status_code == 415
    assert not Arrival.objects.exists()
    assert everything_kept() == []


def test_creation_with_more_than_was_announced(client: Client, cast: Cast):
    answer = announce(client, cast, body=FILM, Upload_Length="5")

    assert answer.status_code == 413
    assert not Arrival.objects.exists()
    assert everything_kept() == []


@pytest.mark.parametrize(
    "told",
    [f"filename {packed('Länge.mov')}", "filename ,mine", f"mine,filename {packed('a')},x "],
)
def test_words_come_back_as_they_were(client: Client, cast: Cast, told: str):
    address = begun(client, cast, Upload_Metadata=told)

    assert head(client, address).headers["Upload-Metadata"] == told


@pytest.mark.parametrize(
    "told",
    [
        "filename not*base64",
        "filename //4=",
        f"filename {packed('a')},filename {packed('b')}",
        ",",
        f"näme {packed('a')}",
        f"filename {packed('a')}\tSet-Cookie: x",
    ],
)
def test_words_that_cannot_be_read(client: Client, cast: Cast, told: str):
    assert announce(client, cast, Upload_Metadata=told).status_code == 400
    assert not Arrival.objects.exists()


def test_marked_as_not_to_be_shown(client: Client, cast: Cast):
    announce(client, cast, body=FILM, Upload_Metadata="not-to-be-shown")

    assert Recording.objects.get().not_to_be_shown


def test_asking_how_far_it_is(client: Client, address: str):
    answer = head(client, address)

    assert answer.status_code == 200
    assert answer.headers["Upload-Offset"] == "0"
    assert answer.headers["Upload-Length"] == str(len(FILM))
    assert answer.headers["Cache-Control"] == "private, no-store"
    patch(client, address, FILM)
    assert offset(client, address) == len(FILM)


@pytest.mark.parametrize("name", ["coach", "head_coach", "rival_coach", "stranger", "guardian"])
def test_somebody_elses_looks_like_none(client: Client, cast: Cast, address: str, name: str):
    other = signed_in(cast.person(name))
    absent = "/arrivals/00000000-0000-0000-0000-000000000000/"

    answers = [head(other, place) for place in (address, absent)]
    answers += [patch(other, place, FILM) for place in (address, absent)]
    answers += [other.delete(place, headers=TUS) for place in (address, absent)]

    for answer in answers:
        assert answer.status_code == 404
        assert "Upload-Offset" not in answer.headers
        assert answer.headers["Tus-Resumable"] == "1.0.0"
    assert offset(client, address) == 0


def test_who_no_longer_works_with_the_squad(client: Client, cast: Cast, address: str):
    cast.assistant.memberships.all().delete()

    assert head(client, address).status_code == 404


@pytest.mark.parametrize("at", [0, 4999, 5001])
def test_a_wrong_offset(client: Client, address: str, at: int):
    patch(client, address, FILM[:5000])

    assert patch(client, address, FILM[at:], at=at).status_code == 409
    assert offset(client, address) == 5000


@pytest.mark.parametrize("at", ["", "-1", "x", "+1"])
def test_an_offset_that_is_none(client: Client, address: str, at: str):
    assert patch(client, address, FILM, at=at).status_code == 400


def test_bytes_of_another_kind(client: Client, address: str):
    assert patch(client, address, FILM, kind="application/octet-stream").status_code == 415
    assert offset(client, address) == 0


def test_more_than_was_announced(client: Client, address: str):
    answer = patch(client, address, FILM + b"more")

    assert answer.status_code == 413
    assert offset(client, address) == 0
    assert answer.wsgi_request.read(1) == b"", "an answer is heard only after all was sent"


def test_no_bytes_at_the_right_place(client: Client, address: str):
    answer = patch(client, address, b"")

    assert (answer.status_code, answer.headers["Upload-Offset"]) == (204, "0")


def test_more_for_a_film_that_is_whole(client: Client, address: str):
    patch(client, address, FILM)

    assert patch(client, address, b"", at=len(FILM)).status_code == 204
    assert patch(client, address, b"more", at=len(FILM)).status_code == 413
    assert patch(client, address, FILM).status_code == 409
    assert Path(Recording.objects.get().original.path).read_bytes() == FILM
    assert Job.objects.count() == 1


def test_left_for_too_long(client: Client, address: str):
    Arrival.objects.update(expires_at=NOW - timedelta(days=900))

    assert patch(client, address, FILM).status_code == 410
    assert head(client, address).status_code == 410


@pytest.mark.parametrize("way", ["sha1", "sha256"])
def test_a_checksum(client: Client, address: str, way: str):
    right = f"{way} {packed(hashlib.new(way, FILM[:5000]).digest())}"
    wrong = f"{way} {packed(hashlib.new(way, b'other').digest())}"

    assert patch(client, address, FILM[:5000], **{"Upload-Checksum": wrong}).status_code == 460
    assert offset(client, address) == 0
    assert patch(client, address, FILM[:5000], **{"Upload-Checksum": right}).status_code == 204
    assert offset(client, address) == 5000


def test_the_checksum_that_everybody_knows(client: Client, cast: Cast):
    address = begun(client, cast, Upload_Length="11")
    known = {"Upload-Checksum": "sha1 Kq5sNclPz7QV2+lfQIuc6R7oRu0="}

    assert patch(client, address, b"hello world", **known).status_code == 204


@pytest.mark.parametrize("said", ["md5 AAAA", "sha1 not*base64", "sha1 AAAA", "sha1", ""])
def test_a_checksum_that_cannot_be_read(client: Client, address: str, said: str):
    assert patch(client, address, FILM, **{"Upload-Checksum": said}).status_code == 400
    assert offset(client, address) == 0


def test_more_with_a_checksum_than_is_stored_twice(
    client: Client, address: str, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(resuming, "CHECKED_BYTES", 100)
    right = {"Upload-Checksum": f"sha256 {packed(hashlib.sha256(FILM).digest())}"}

    assert patch(client, address, FILM, **right).status_code == 413


@pytest.mark.parametrize(
    ("way", "status"), [("PATCH", 204), ("patch", 204), ("GET", 405), ("", 405)]
)
def test_where_only_post_passes(client: Client, address: str, way: str, status: int):
    headers = {**TUS, "Upload-Offset": "0", "X-HTTP-Method-Override": way}

    answer = client.generic("POST", address, FILM, PIECE, headers=headers)

    assert answer.status_code == status
    assert Recording.objects.count() == (status == 204)


def test_giving_up(client: Client, address: str):
    patch(client, address, FILM[:5000])

    assert client.delete(address, headers=TUS).status_code == 204
    assert head(client, address).status_code == 404
    assert patch(client, address, FILM).status_code == 404
    assert everything_kept() == []


def test_giving_up_too_late_leaves_the_film(client: Client, address: str):
    patch(client, address, FILM)

    assert client.delete(address, headers=TUS).status_code == 204
    assert Path(Recording.objects.get().original.path).read_bytes() == FILM


def test_without_the_token(cast: Cast, address: str):
    client = signed_in(cast.assistant, enforce_csrf_checks=True)

    assert announce(client, cast).status_code == 403
    assert patch(client, address, FILM).status_code == 403
    assert client.delete(address, headers=TUS).status_code == 403
    client.get(reverse("recordings:session", args=[cast.session.code]))
    token = {"X-CSRFToken": client.cookies["flagline_csrf"].value}
    assert patch(client, address, FILM, **token).status_code == 204


def test_signed_out_is_said_and_leads_nowhere(cast: Cast, address: str):
    nobody = Client()

    for answer in (announce(nobody, cast), head(nobody, address), patch(nobody, address, FILM)):
        assert answer.status_code == 401
        assert answer.headers["Tus-Resumable"] == "1.0.0"
        assert "Location" not in answer.headers
    assert "Sign in again" in patch(nobody, address, FILM).json()["problem"]
    assert Arrival.objects.count() == 1


@pytest.mark.parametrize("name", ["welfare", "other_coach", "guardian", "stranger"])
def test_who_may_not_send_film(cast: Cast, name: str):
    assert announce(signed_in(cast.person(name)), cast).status_code == 404
    assert not Arrival.objects.exists()


def test_a_server_that_was_killed_before_the_film_was_taken(client: Client, address: str):
    """Every byte is in the file, and nobody has made a recording of it."""
    path_of(f"arriving/{Arrival.objects.get().code}.part").write_bytes(FILM)

    assert offset(client, address) == len(FILM)
    assert Path(Recording.objects.get().original.path).read_bytes() == FILM
