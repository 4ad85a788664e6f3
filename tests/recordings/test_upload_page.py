"""A film in a form, for who has no scripts; and who may bring one in."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from portal.audit.models import Entry
from portal.jobs.models import Job
from portal.recordings import bringing
from portal.recordings.models import Recording
from tests.cast import Cast, signed_in
from tests.media import film


@pytest.fixture
def take(tmp_path: Path) -> bytes:
    return film(tmp_path / "take.mp4", frames=12).read_bytes()


def url(cast: Cast) -> str:
    return reverse("recordings:upload", args=[cast.session.code])


def send(client: Client, cast: Cast, body: bytes, *, name: str = "lane 4.mp4", **said: str):
    return client.post(url(cast), {"film": SimpleUploadedFile(name, body), **said}, follow=True)


def test_it_works(cast: Cast, take: bytes):
    page = send(signed_in(cast.assistant), cast, take, name="nähe 4.mp4")

    assert "“nähe 4.mp4” is in, and whole." in page.content.decode()
    recording = Recording.objects.get()
    assert (recording.name, recording.filmed_by) == ("nähe 4.mp4", cast.assistant)
    assert recording.sha256 == hashlib.sha256(take).hexdigest()
    assert Path(recording.original.path).read_bytes() == take
    job = Job.objects.get(key=f"prepare:{recording.code}")
    assert (job.kind, job.payload) == ("recordings.prepare", {"recording": str(recording.code)})


def test_a_refusal_keeps_the_page(cast: Cast, as_coach: Client):
    page = send(as_coach, cast, b"a shopping list, and a long one", not_to_be_shown="on")

    assert page.status_code == 422
    assert "not a film" in page.content.decode()
    assert 'name="not_to_be_shown" checked' in page.content.decode()
    assert not Recording.objects.exists()
    assert not Job.objects.exists()


def test_film_with_somebody_without_consent_comes_in_marked(
    cast: Cast, as_coach: Client, take: bytes
):
    page = send(as_coach, cast, take, not_to_be_shown="on")

    assert Recording.objects.get().not_to_be_shown
    assert Entry.objects.get(action="made").detail["what"] == "not to be shown"
    assert page.content.decode().count("Not to be shown: coaches look") == 2


def test_a_form_without_a_file(cast: Cast, as_coach: Client):
    page = as_coach.post(url(cast), {})

    assert page.status_code == 422
    assert "No file was chosen" in page.content.decode()


def test_a_form_that_is_too_large_is_not_even_read(cast: Cast, as_coach: Client, settings):
    settings.RECORDING_MAX_BYTES = 1000
    film = SimpleUploadedFile("long.mp4", bytes(1000 + bringing.FORM_BYTES))

    page = as_coach.post(url(cast), {"film": film})

    assert page.status_code == 422
    assert "Cut it into parts" in page.content.decode()
    assert not hasattr(page.wsgi_request, "_files")


def test_a_form_for_which_there_is_no_room_is_not_even_read(
    cast: Cast, as_coach: Client, take: bytes, settings
):
    settings.RECORDING_SPARE_BYTES = 10**18

    page = as_coach.post(url(cast), {"film": SimpleUploadedFile("lane 4.mp4", take)})

    assert page.status_code == 422
    assert "no room left" in page.content.decode()
    assert not hasattr(page.wsgi_request, "_files")


def test_the_same_film_again_is_told_so(cast: Cast, as_coach: Client, take: bytes):
    send(as_coach, cast, take)

    page = send(as_coach, cast, take)

    assert page.status_code == 422
    assert "already in this session" in page.content.decode()
    assert Recording.objects.count() == 1


def test_without_the_token_nothing_is_taken(cast: Cast, take: bytes):
    client = signed_in(cast.coach, enforce_csrf_checks=True)

    assert send(client, cast, take).status_code == 403
    assert not Recording.objects.exists()


def test_with_the_token_it_is(cast: Cast, take: bytes):
    client = signed_in(cast.coach, enforce_csrf_checks=True)
    client.get(reverse("recordings:session", args=[cast.session.code]))
    token = client.cookies["flagline_csrf"].value

    assert send(client, cast, take, csrfmiddlewaretoken=token).status_code == 200
    assert Recording.objects.count() == 1


@pytest.mark.parametrize(
    "name", ["other_coach", "rival_coach", "stranger", "guardian", "swimmer_user", "welfare"]
)
def test_others_find_nothing_and_leave_nothing(cast: Cast, take: bytes, name: str):
    assert send(signed_in(cast.person(name)), cast, take).status_code == 404
    assert not Recording.objects.exists()


def test_who_is_not_signed_in_is_sent_to_sign_in(cast: Cast, take: bytes):
    [first, *_more] = send(Client(), cast, take).redirect_chain
    assert first[0].startswith("/sign-in/")
    assert not Recording.objects.exists()


def test_a_body_that_is_no_form_is_no_film(cast: Cast, as_coach: Client, take: bytes):
    answer = as_coach.post(url(cast), take, "application/octet-stream")

    assert answer.status_code == 422
    assert not Recording.objects.exists()


def test_a_link_uploads_nothing(cast: Cast, as_coach: Client):
    assert as_coach.get(url(cast)).status_code == 405
