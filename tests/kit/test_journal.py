"""The log says what happened and to which code, and holds nobody's name or words."""

from __future__ import annotations

import io
import json
import logging
import sys
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import path, reverse
from django.utils import timezone

from portal.jobs import queueing, running
from portal.jobs.models import Job
from portal.kit.declaring import open_to_all
from portal.kit.journal import KEYS, JsonLines
from portal.mailroom.models import OutgoingMail
from portal.urls import handler400, handler403, handler404, handler500  # noqa: F401 - for Django
from portal.urls import urlpatterns as product
from tests.cast import NOW, Cast
from tests.mailroom.relay import relay
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words

NAME, ADDRESS = "Zebulon Quirke", "zquirke@flamingo.example"
WORDS, TOKEN = "Wobbly elbows today", "t0ken-of-nobody"
# Parts of each, so that half a name counts as one.
CANARIES = ["zebulon", "quirke", "flamingo", "wobbly", "elbows", "t0ken", "heron", "otter-key"]
FIXED = {"time", "level", "logger", "event", "at", "request", "frames"}


@open_to_all
def breaks(request: HttpRequest, token: str) -> HttpResponse:
    try:
        return HttpResponse({"": ""}[f"{NAME} heron"])
    except KeyError as error:
        raise ValueError(f"{request.POST} {ADDRESS} {token}") from error


urlpatterns = [*product, path("breaks/<token>/", breaks, name="breaks")]


@pytest.fixture
def lines() -> Iterator[Callable[[], list[dict[str, Any]]]]:
    """What the product's own handler wrote since the last time; every line must be JSON."""
    [handler] = [h for h in logging.getLogger().handlers if isinstance(h.formatter, JsonLines)]
    assert isinstance(handler, logging.StreamHandler)
    paper = io.StringIO()

    def read() -> list[dict[str, Any]]:
        written = paper.getvalue()
        paper.seek(0)
        paper.truncate()
        for canary in CANARIES:
            assert canary not in written.lower()
        return [json.loads(line) for line in written.splitlines()]

    before = handler.setStream(paper)
    yield read
    handler.setStream(before)


@pytest.fixture
def client(cast: Cast, settings) -> Client:
    settings.ROOT_URLCONF = __name__
    return Client(raise_request_exception=False)


def test_it_works(cast: Cast, client: Client, lines):
    client.force_login(cast.coach)
    lines()

    response = client.get(reverse("recordings:session", args=[cast.session.code]))

    [line] = lines()
    assert line.pop("time").endswith("+00:00")
    assert line.pop("ms") > 0
    assert line == {
        "level": "info",
        "logger": "portal.kit.journal",
        "event": "answered",
        "request": response.headers["X-Request-ID"],
        "method": "GET",
        "route": "recordings:session",
        "code": str(cast.session.code),
        "status": 200,
        "actor": str(cast.coach.code),
    }


def test_a_fault_says_where_and_not_what(db, client: Client, lines):
    response = client.post(f"/breaks/{TOKEN}/", {"name": NAME}, query_params={"t": TOKEN})

    broke, answered = lines()
    assert response.status_code == answered["status"] == 500
    assert broke["request"] == answered["request"] == response.headers["X-Request-ID"]
    assert (broke["logger"], broke["event"]) == ("django.request", "%s: %s")
    assert broke["error"] == "ValueError < KeyError"
    assert any(place.startswith("tests/kit/test_journal.py:") for place in broke["frames"])
    assert answered["route"] == "breaks"
    assert "code" not in answered


def test_nothing_of_a_whole_evening_is_in_it(cast: Cast, client: Client, lines):
    """Wrong and right sign-ins, a film, remarks, addresses that are none, and other hosts."""
    words.learn()
    cut = staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=50)
    cast.coach.name, cast.coach.email = NAME, ADDRESS
    cast.coach.save()
    door = reverse("doorway:password_in")
    client.post(door, {"email": ADDRESS, "password": "wobbly otter-key"})
    client.post(door, {"email": ADDRESS, "password": "paper boats in the gutter"})
    client.force_login(cast.coach)
    upload = reverse("recordings:upload", args=[cast.session.code])
    client.post(upload, {"film": SimpleUploadedFile(f"{NAME}.mp4", WORDS.encode())})
    said = {
        "code": str(uuid.uuid4()),
        "frame": 20,
        "last_frame": None,
        "swimmers": [str(cast.swimmer.code)],
        "verdict": "work on",
        "tag": "feet-low",
        "words": WORDS,
    }
    wrote = client.post(
        reverse("review:write", args=[cut.code]), json.dumps(said), "application/json"
    )
    client.post(reverse("review:write", args=[cut.code]), f"{{{WORDS}", "application/json")
    client.get(f"/flamingo/{NAME}/", query_params={"q": WORDS})
    client.get("/", headers={"Host": "flamingo.example", "Referer": f"http://{TOKEN}/"})
    client.get(f"/notes/?swimmer={NAME}", headers={"User-Agent": NAME, "Cookie": TOKEN})
    client.put(upload, WORDS)
    forger = Client(enforce_csrf_checks=True)
    forger.post(door, {"email": ADDRESS, "csrfmiddlewaretoken": TOKEN})

    found = lines()

    assert wrote.status_code == 201, wrote.content
    routes = {line.get("route") for line in found if line.get("event") == "answered"}
    assert {"doorway:password_in", "recordings:upload", "review:write", None} <= routes
    assert {set(line) <= {*FIXED, *KEYS} for line in found} == {True}


def test_nor_of_a_mail_that_is_refused(cast: Cast, transactional_db, lines):
    mail = OutgoingMail.objects.create(
        club=cast.club,
        recipient=cast.guardian,
        address=ADDRESS,
        kind=OutgoingMail.Kind.NOTES_READY,
        key=f"notes ready:1:{TOKEN}",
        subject=f"{NAME}: notes are ready",
        text=WORDS,
        html=f"<p>{WORDS}</p>",
        created_at=NOW,
    )
    with relay() as server:
        server.at_recipient = "550 <{address}> is nobody here"
        payload = {"mail": str(mail.code)}
        job = queueing.enqueue("mailroom.send", key=TOKEN, payload=payload, at=timezone.now())
        running.run_one(job.code, worker="one", at=timezone.now())

    found = lines()

    assert Job.objects.get().state == Job.State.FAILED
    ours = [line["event"] for line in found if line["logger"].startswith("portal.")]
    assert ours == ["mail ended", "job ended"]


def test_nor_of_a_job_that_breaks(db, settings, lines):
    settings.JOB_KINDS = {"tests.broken": ("tests.kit.test_journal.break_down", "default")}
    job = queueing.enqueue("tests.broken", key=NAME, payload={"a": WORDS}, at=timezone.now())

    running.run_one(job.code, worker="one", at=timezone.now())

    [broke, ended] = lines()
    assert (broke["event"], broke["error"]) == ("job broke", "FileNotFoundError")
    assert ended.items() >= {"job": str(job.code), "kind": "tests.broken", "attempt": 1}.items()


def break_down(job: Job, _at: object) -> None:
    raise FileNotFoundError(f"{NAME}.mp4 {job.payload}")


def written(logger: str, *words: object, **more: Any) -> dict[str, Any]:
    """The line for this call of a logger."""
    record = logging.getLogger(logger).makeRecord(
        logger, logging.WARNING, "x.py", 7, words[0], words[1:], more.pop("exc_info", None), **more
    )
    line: dict[str, Any] = json.loads(JsonLines().format(record))
    return line


def test_a_librarys_message_is_not_filled_in():
    assert written("gunicorn.error", "Error handling %s", NAME)["event"] == "Error handling %s"


def test_a_librarys_message_may_have_been_filled_before():
    line = written("elsewhere", f"Error handling {NAME}")

    assert "event" not in line
    assert line["at"] == "x:7"


@pytest.mark.parametrize("value", [WORDS, ADDRESS, "Zoë", "a/b?c", "x" * 101, ["a"], {"a": 1}])
def test_what_looks_like_words_is_left_out(value: object):
    assert "state" not in written("portal.x", "done", extra={"state": value})


def test_what_is_not_on_the_list_is_left_out():
    line = written("portal.x", "done", extra={"swimmer": "Zoe", "state": "failed", "exit": -9})

    assert "swimmer" not in line
    assert (line["state"], line["exit"]) == ("failed", -9)


def test_an_error_without_its_words():
    try:
        int(NAME)
    except ValueError:
        line = written("elsewhere", "no", exc_info=sys.exc_info())

    assert line["error"] == "ValueError"
    assert NAME not in json.dumps(line)


@pytest.mark.parametrize("name", ["gunicorn.error", "celery.task", "multiprocessing", "django"])
def test_no_library_writes_past_the_journal(name: str):
    handlers = [*logging.getLogger(name).handlers, *logging.getLogger().handlers]
    ours = [h for h in handlers if type(h) is logging.StreamHandler]

    assert {type(handler.formatter) for handler in ours} == {JsonLines}
