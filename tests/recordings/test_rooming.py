"""A club gives film so much room and no more, and who uploads hears of it before a byte is sent."""

from __future__ import annotations

import errno
import os

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from portal.recordings import parting, receiving, rooming
from portal.recordings.models import Arrival, Recording
from portal.recordings.rooming import GIGABYTE
from tests.cast import NOW, Cast
from tests.recordings import filmed
from tests.recordings.films import everything_kept
from tests.recordings.pieces import FILM, announce, begun, offset, patch


@pytest.fixture
def nearly_full(cast: Cast) -> None:
    """1 GB for film, of which FILM and not a byte more is free."""
    cast.club.film_gigabytes = 1
    cast.club.save()
    filmed.recording(cast, size=GIGABYTE - len(FILM))


def page(client: Client, cast: Cast, name: str = "recordings:session") -> str:
    return client.get(reverse(name, args=[cast.session.code])).content.decode()


def test_it_works(cast: Cast, as_coach: Client, nearly_full: None):
    assert f"There is room for {len(FILM) / 1024:.1f}\xa0KB more." in page(as_coach, cast)
    assert patch(as_coach, begun(as_coach, cast), FILM).status_code == 204
    assert Recording.objects.count() == 2

    for name in ("recordings:session", "poolside:film_list"):
        words = page(as_coach, cast, name)
        assert "There is no room for film: the club has 1.0\xa0GB of its 1.0\xa0GB" in words
        assert 'data-room-bytes="0"' in words


def test_one_byte_too_many(cast: Cast, as_coach: Client, nearly_full: None):
    answer = announce(as_coach, cast, Upload_Length=str(len(FILM) + 1))

    assert answer.status_code == 507
    assert "Ask the head coach to give more room" in answer.json()["problem"]
    assert not Arrival.objects.exists()
    assert everything_kept() == []


def test_a_form_is_refused_before_it_is_read(cast: Cast, as_coach: Client, nearly_full: None):
    Recording.objects.update(size=GIGABYTE)
    film = SimpleUploadedFile("lane 4.mp4", bytes(200_000))

    answer = as_coach.post(reverse("recordings:upload", args=[cast.session.code]), {"film": film})

    assert answer.status_code == 422
    assert "Ask the head coach to give more room" in answer.content.decode()
    assert not hasattr(answer.wsgi_request, "_files")


def test_what_is_on_its_way_is_counted(cast: Cast, as_coach: Client, nearly_full: None):
    first = begun(as_coach, cast)

    assert announce(as_coach, cast, Upload_Length="1").status_code == 507
    as_coach.delete(first, headers={"Tus-Resumable": "1.0.0"})
    assert announce(as_coach, cast, Upload_Length="1").status_code == 201


def test_what_is_counted(cast: Cast):
    one = filmed.ready(cast)
    filmed.copy(one, filmed.clip(cast, one, cast.swimmer))
    filmed.recording(cast, thrown_away_at=NOW)
    filmed.recording(cast, original="", original_went_at=NOW)
    coming = receiving.Announced(name="lane 4.mp4", kind="", length=500)
    receiving.begin(cast.session, coming, by=cast.coach, at=NOW)

    assert rooming.used(cast.club) == 1000 + 1000 + 1000 + 1000 + 500


def test_another_club_takes_nothing(cast: Cast):
    filmed.ready(cast)

    assert rooming.used(cast.rival_coach.memberships.get().club) == 0


def test_a_full_disk_is_no_room_either(cast: Cast, settings):
    settings.RECORDING_SPARE_BYTES = 10**18

    assert rooming.room(cast.club).free == 0


def test_a_disk_that_fills_up_on_the_way(
    cast: Cast, as_coach: Client, monkeypatch: pytest.MonkeyPatch
):
    """What came through before stays, and goes on once there is room."""
    address = begun(as_coach, cast)
    patch(as_coach, address, FILM[:5000])

    def fills(_descriptor: int, _block: bytes) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as full:
        full.setattr(parting, "_write", fills)
        answer = patch(as_coach, address, FILM[5000:], at=5000)

    assert answer.status_code == 507
    assert "no room left on the portal’s disk" in answer.json()["problem"].replace("'", "’")
    assert offset(as_coach, address) == 5000
    assert patch(as_coach, address, FILM[5000:], at=5000).status_code == 204
    assert Recording.objects.get().size == len(FILM)
