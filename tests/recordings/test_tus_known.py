"""A film that is here already, or on its way, is known again; by its ends before a byte is sent."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest
from django.test import Client

from portal.kit.storage import path_of
from portal.recordings import throwing, uploading
from portal.recordings.models import Arrival, Recording
from tests.cast import NOW, Cast, signed_in
from tests.recordings.films import everything_kept
from tests.recordings.pieces import FILM, announce, begun, head, packed, patch


@pytest.fixture
def client(cast: Cast) -> Client:
    return signed_in(cast.assistant)


def told(body: bytes) -> str:
    """What the page says of a film of two ends that overlap."""
    return f"fingerprint {packed(hashlib.sha256(body + body).hexdigest())}"


def test_it_works(client: Client, cast: Cast):
    patch(client, begun(client, cast), FILM)

    answer = announce(client, cast, Upload_Metadata=told(FILM))

    assert answer.status_code == 422
    assert "already in this session, as “film”" in answer.json()["problem"]
    assert Arrival.objects.count() == 1
    other = FILM[:-1] + b"x"
    assert announce(client, cast, Upload_Metadata=told(other)).status_code == 201
    throwing.throw_away(Recording.objects.get(), by=cast.coach, at=NOW)
    assert announce(client, cast, Upload_Metadata=told(FILM)).status_code == 201


def test_who_lost_sight_of_their_upload_goes_on_with_it(client: Client, cast: Cast):
    """A telephone hands the same film out as a new file each time."""
    words = told(FILM)
    address = begun(client, cast, Upload_Metadata=words)
    patch(client, address, FILM[:5000])

    answer = announce(client, cast, Upload_Metadata=words)

    assert answer.status_code == 201
    assert (answer.headers["Location"], answer.headers["Upload-Offset"]) == (address, "5000")
    others = [
        announce(signed_in(cast.coach), cast, Upload_Metadata=words),
        announce(client, cast, Upload_Metadata=f"{words},not-to-be-shown"),
        announce(client, cast, Upload_Metadata=words, Upload_Length=str(len(FILM) + 1)),
        announce(client, cast, Upload_Metadata=words, body=FILM[:10]),
    ]
    assert {other.status_code for other in others} == {201}
    assert address not in {other.headers["Location"] for other in others}
    path_of(f"arriving/{Arrival.objects.last().code}.part").unlink()  # type: ignore[union-attr]
    assert announce(client, cast, Upload_Metadata=words).headers["Upload-Offset"] == "0"


def test_a_fingerprint_is_of_both_ends(tmp_path: Path):
    film = tmp_path / "film"
    for size in (0, 1, 2**20, 2**20 + 1, 3 * 2**20):
        whole = os.urandom(size)
        film.write_bytes(whole)
        ends = whole[: 2**20] + whole[max(0, size - 2**20) :]
        assert uploading.fingerprint(film) == hashlib.sha256(ends).hexdigest()


def test_the_same_film_again_from_who_says_nothing_of_its_ends(client: Client, cast: Cast):
    address = begun(client, cast)
    patch(client, address, FILM)
    again = begun(client, cast)

    answer = patch(client, again, FILM)

    assert answer.status_code == 422
    assert "already in this session" in answer.json()["problem"]
    assert Recording.objects.count() == 1
    assert len(everything_kept()) == 1
    assert head(client, again).status_code == 404
