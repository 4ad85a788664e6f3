"""Films over the line: as the body of a request, or in a form without scripts."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from portal.audit.models import Entry
from portal.jobs.models import Job
from portal.recordings import views
from portal.recordings.models import Recording
from tests.cast import Cast, signed_in
from tests.media import film

RAW = "application/octet-stream"


@pytest.fixture
def take(tmp_path: Path) -> bytes:
    return film(tmp_path / "take.mp4", frames=12).read_bytes()


def url(cast: Cast) -> str:
    return reverse("recordings:upload", args=[cast.session.code])


def send(client: Client, cast: Cast, body: bytes, name: str = "lane%204.mp4", **headers: str):
    return client.post(url(cast), body, RAW, headers={"X-File-Name": name, **headers})


def test_it_works(cast: Cast, take: bytes):
    answer = send(signed_in(cast.assistant), cast, take, "n%C3%A4he%204.mp4")

    recording = Recording.objects.get()
    assert answer.status_code == 201
    assert answer.json() == {
        "code": str(recording.code),
        "url": reverse("recordings:sorting", args=[recording.code]),
    }
    assert (recording.name, recording.filmed_by) == ("nähe 4.mp4", cast.assistant)
    assert recording.sha256 == hashlib.sha256(take).hexdigest()
    assert Path(recording.original.path).read_bytes() == take
    job = Job.objects.get(key=f"prepare:{recording.code}")
    assert (job.kind, job.payload) == ("recordings.prepare", {"recording": str(recording.code)})


def test_it_works_without_scripts(cast: Cast, as_coach: Client, take: bytes):
    page = as_coach.post(url(cast), {"film": SimpleUploadedFile("lane 4.mp4", take)}, follow=True)

    assert "“lane 4.mp4” is in, and whole." in page.content.decode()
    assert Path(Recording.objects.get().original.path).read_bytes() == take
    assert Job.objects.count() == 1


def test_a_film_is_never_held_in_memory(cast: Cast, as_coach: Client, take: bytes, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 100

    assert send(as_coach, cast, take).status_code == 201


def test_no_film_is_refused_in_words(cast: Cast, as_coach: Client):
    answer = send(as_coach, cast, b"a shopping list, and a long one at that")

    assert answer.status_code == 422
    assert "not a film" in answer.json()["problem"]
    assert not Recording.objects.exists()
    assert not Job.objects.exists()


def test_a_refusal_reads_what_is_left_on_the_way(cast: Cast, as_coach: Client, settings):
    settings.RECORDING_MAX_BYTES = 10
    body = b"....ftypqt  " + bytes(3 * views.BLOCK)

    answer = send(as_coach, cast, body)

    assert answer.status_code == 422
    assert answer.wsgi_request.read(1) == b""


def test_a_refusal_without_scripts_keeps_the_page(cast: Cast, as_coach: Client):
    film = SimpleUploadedFile("list.txt", b"a shopping list")
    page = as_coach.post(url(cast), {"film": film, "not_to_be_shown": "on"})

    assert page.status_code == 422
    assert "not a film" in page.content.decode()
    assert 'name="not_to_be_shown" checked' in page.content.decode()


def test_film_with_somebody_without_consent_comes_in_marked(
    cast: Cast, as_coach: Client, take: bytes
):
    other = b"".join([take, b"free"])
    send(as_coach, cast, take, **{"X-Not-To-Be-Shown": "yes"})
    film = SimpleUploadedFile("lane 5.mp4", other)
    as_coach.post(url(cast), {"film": film, "not_to_be_shown": "on"})

    assert [row.not_to_be_shown for row in Recording.objects.all()] == [True, True]
    assert Entry.objects.filter(action="made", detail__what="not to be shown").count() == 2
    page = as_coach.get(reverse("recordings:session", args=[cast.session.code]))
    assert page.content.decode().count("Not to be shown: coaches look") == 3


def test_a_form_without_a_file(cast: Cast, as_coach: Client):
    page = as_coach.post(url(cast), {})

    assert page.status_code == 422
    assert "No file was chosen" in page.content.decode()


def test_a_form_that_is_too_large_is_not_even_read(cast: Cast, as_coach: Client, settings):
    settings.RECORDING_MAX_BYTES = 1000
    film = SimpleUploadedFile("long.mp4", bytes(1000 + views.FORM_BYTES))

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

    answer = send(as_coach, cast, take)

    assert answer.status_code == 422
    assert "already in this session" in answer.json()["problem"]
    assert Recording.objects.count() == 1


@pytest.mark.parametrize("is_raw", [True, False])
def test_without_the_token_nothing_is_taken(cast: Cast, take: bytes, is_raw: bool):
    client = signed_in(cast.coach, enforce_csrf_checks=True)

    answer = (
        send(client, cast, take)
        if is_raw
        else client.post(url(cast), {"film": SimpleUploadedFile("lane 4.mp4", take)})
    )

    assert answer.status_code == 403
    assert not Recording.objects.exists()


def test_with_the_token_it_is(cast: Cast, take: bytes):
    client = signed_in(cast.coach, enforce_csrf_checks=True)
    client.get(reverse("recordings:session", args=[cast.session.code]))
    token = client.cookies["flagline_csrf"].value

    assert send(client, cast, take, **{"X-CSRFToken": token}).status_code == 201


@pytest.mark.parametrize(
    "name", ["other_coach", "rival_coach", "stranger", "guardian", "swimmer_user", "welfare"]
)
def test_others_find_nothing_and_leave_nothing(cast: Cast, take: bytes, name: str):
    assert send(signed_in(cast.person(name)), cast, take).status_code == 404
    assert not Recording.objects.exists()


def test_who_is_not_signed_in_is_sent_to_sign_in(cast: Cast, take: bytes):
    assert send(Client(), cast, take).status_code == 302


def test_a_link_uploads_nothing(cast: Cast, as_coach: Client):
    assert as_coach.get(url(cast)).status_code == 405
