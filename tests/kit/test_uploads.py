from __future__ import annotations

from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests.cast import Cast

# More than is kept in memory.
FILE = bytes(3 * 1024 * 1024)


def sent(client: Client, address: str, **words: str):
    return client.post(address, {**words, "junk": SimpleUploadedFile("junk.bin", FILE)})


def test_it_works(db, settings, tmp_path: Path):
    """A stranger with a token of their own can fill no disk."""
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    client = Client(enforce_csrf_checks=True)
    client.get(reverse("doorway:sign_in"))
    token = client.cookies["flagline_csrf"].value

    answer = sent(client, reverse("doorway:sign_in"), csrfmiddlewaretoken=token)

    assert answer.status_code == 200
    assert not answer.wsgi_request.FILES
    assert answer.wsgi_request.read(1)


def test_what_stood_before_the_file_is_read(cast: Cast):
    words = {"email": cast.coach.email, "password": "paper boats in the gutter"}

    answer = sent(Client(), reverse("doorway:sign_in"), **words)

    assert answer.status_code == 302


def test_nor_can_somebody_who_is_signed_in(cast: Cast, as_coach: Client):
    answer = sent(as_coach, reverse("recordings:new_session"))

    assert not answer.wsgi_request.FILES
