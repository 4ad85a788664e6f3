"""Uploads over real lines to the real web server: cut, stalled, overtaken, killed on the way."""

from __future__ import annotations

import hashlib
import os
import signal
import socket
import struct
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from subprocess import DEVNULL, Popen
from threading import Thread
from urllib.parse import urlsplit

import pytest
import requests
from django.conf import settings
from django.db import connection
from django.test import Client
from django.urls import reverse
from tusclient.client import TusClient

from portal.jobs.models import Job
from portal.kit.storage import path_of
from portal.recordings.models import Arrival, Recording
from tests import soak
from tests.cast import Cast, assemble, signed_in
from tests.house import ROOT
from tests.servers import until

CHUNK = 1_000_000
PIECE = "application/offset+octet-stream"
FILM = b"\x00\x00\x00\x18ftypmp42" + os.urandom(8 * CHUNK)
BIG = soak.count(30, 300) * 1_000_000


@dataclass
class Portal:
    """gunicorn as `serve` starts it, on the database of the test."""

    data: Path
    port: int
    process: Popen[bytes] | None = None

    def start(self) -> None:
        self.process = Popen(
            [
                *(sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", self.door),
                *("--worker-class", "gthread", "--workers", "1", "--threads", "16"),
                *("--log-level", "critical", "--no-control-socket", "--graceful-timeout", "1"),
            ],
            cwd=ROOT,
            env={
                **os.environ,
                "FLAGLINE_DATA": str(self.data),
                "FLAGLINE_ADDRESS": f"http://{self.door}",
                "FLAGLINE_TEST_DATABASE": str(connection.settings_dict["NAME"]),
                "FLAGLINE_SECRET": settings.SECRET_KEY,
                "DJANGO_SETTINGS_MODULE": "tests.recordings.settings",
            },
            stdout=DEVNULL,
            stderr=DEVNULL,
            start_new_session=True,
        )
        until(lambda: requests.get(f"http://{self.door}/health/", timeout=5), self.process)

    def kill(self) -> None:
        """As a power cut would: the server, and the process of it that answers."""
        if self.process:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()

    @property
    def door(self) -> str:
        return f"localhost:{self.port}"

    def peak(self) -> int:
        """The most memory that one of its processes has had, in bytes."""
        assert self.process
        pids = [self.process.pid, *_children(self.process.pid)]
        return max(_peak(pid) for pid in pids)


def _children(pid: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def _peak(pid: int) -> int:
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM"))


@pytest.fixture
def cast(transactional_db) -> Cast:
    return assemble()


@pytest.fixture
def portal(cast: Cast, tmp_path: Path) -> Iterator[Portal]:
    with socket.create_server(("localhost", 0)) as free:
        port = free.getsockname()[1]
    portal = Portal(tmp_path, port)
    portal.start()
    yield portal
    portal.kill()


@pytest.fixture
def sender(cast: Cast, portal: Portal) -> requests.Session:
    """Somebody who works with the squad, signed in and with the token of their browser."""
    client: Client = signed_in(cast.assistant)
    client.get(reverse("recordings:session", args=[cast.session.code]))
    session = requests.Session()
    session.headers["Tus-Resumable"] = "1.0.0"
    session.headers["X-CSRFToken"] = client.cookies["flagline_csrf"].value
    kept = {
        name: client.cookies[name].value for name in ("flagline_csrf", settings.SESSION_COOKIE_NAME)
    }
    session.headers["Cookie"] = "; ".join(f"{name}={value}" for name, value in kept.items())
    return session


@pytest.fixture
def address(sender: requests.Session, portal: Portal, cast: Cast) -> str:
    answer = sender.post(place(portal, cast), headers={"Upload-Length": str(len(FILM))})
    assert answer.status_code == 201, answer.text
    return f"http://{portal.door}{answer.headers['Location']}"


def place(portal: Portal, cast: Cast) -> str:
    return f"http://{portal.door}" + reverse("recordings:announce", args=[cast.session.code])


def patch(sender: requests.Session, address: str, body: bytes, *, at: int) -> requests.Response:
    headers = {"Upload-Offset": str(at), "Content-Type": PIECE}
    return sender.patch(address, data=body, headers=headers, timeout=60)


def offset(sender: requests.Session, address: str) -> int:
    return int(sender.head(address, timeout=60).headers["Upload-Offset"])


def stored() -> bytes:
    return path_of(f"arriving/{Arrival.objects.get().code}.part").read_bytes()


def begin_to_send(
    sender: requests.Session, address: str, body: bytes, *, announced: int, at: int = 0
) -> socket.socket:
    """A PATCH of which only `body` has left so far."""
    where = urlsplit(address)
    line = socket.create_connection((str(where.hostname), int(where.port or 0)), timeout=60)
    own = {"Host": where.netloc, "Upload-Offset": str(at), "Content-Type": PIECE}
    lines = {**sender.headers, **own, "Content-Length": str(announced)}
    head = "".join(f"{name}: {value}\r\n" for name, value in lines.items())
    line.sendall(f"PATCH {where.path} HTTP/1.1\r\n{head}\r\n".encode() + body)
    return line


def settled(sender: requests.Session, address: str, *, at_least: int) -> int:
    """The offset, once it no longer grows."""
    before = -1
    for _ in range(200):
        now = offset(sender, address)
        if now == before and now >= at_least:
            return now
        before = now
        time.sleep(0.1)
    raise AssertionError(f"at {now} bytes only, of {at_least}")


def recorded() -> Recording:
    return Recording.objects.get()


@pytest.mark.parametrize("has_checksum", [False, True])
@pytest.mark.parametrize("size", [0, 1, CHUNK - 1, CHUNK, CHUNK + 1, BIG])
def test_a_client_that_others_wrote(
    portal: Portal, sender: requests.Session, cast: Cast, tmp_path: Path, size: int, has_checksum
):
    source = tmp_path / "film.mp4"
    with source.open("wb") as file:
        for done in range(0, size, CHUNK):
            piece = os.urandom(min(CHUNK, size - done))
            file.write(piece if done else (FILM[:12] + piece)[: len(piece)])
    before = portal.peak()

    with source.open("rb") as stream:
        uploader = TusClient(place(portal, cast), headers=dict(sender.headers)).uploader(
            file_stream=stream,
            chunk_size=CHUNK,
            metadata={"filename": "lane 4.mp4"},
            upload_checksum=has_checksum,
        )
        uploader.upload()

    recording = recorded()
    digest = hashlib.sha256(source.read_bytes()).hexdigest()
    assert (recording.size, recording.sha256) == (size, digest)
    assert hashlib.sha256(Path(recording.original.path).read_bytes()).hexdigest() == digest
    assert recording.name == "lane 4.mp4"
    # Nothing of a film stays in memory, however large it is.
    assert portal.peak() - before < 40_000_000


def test_a_line_that_ends_early(sender: requests.Session, address: str):
    line = begin_to_send(sender, address, FILM[: 3 * CHUNK], announced=len(FILM))
    line.shutdown(socket.SHUT_WR)
    line.recv(1000)
    line.close()

    assert settled(sender, address, at_least=1) == 3 * CHUNK
    assert stored() == FILM[: 3 * CHUNK]


def test_a_line_that_is_torn(sender: requests.Session, address: str):
    line = begin_to_send(sender, address, FILM[: 3 * CHUNK], announced=len(FILM))
    settled(sender, address, at_least=1)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    line.close()

    here = settled(sender, address, at_least=1)
    assert 0 < here <= 3 * CHUNK
    assert stored() == FILM[:here]


def test_who_comes_back_need_not_wait_for_the_stalled_line(sender: requests.Session, address: str):
    line = begin_to_send(sender, address, FILM[:CHUNK], announced=len(FILM))
    here = settled(sender, address, at_least=1)

    assert patch(sender, address, FILM[here : 2 * CHUNK], at=here).status_code == 204
    line.sendall(bytes(CHUNK))
    line.shutdown(socket.SHUT_WR)

    assert b" 409 " in line.recv(1000).split(b"\r\n")[0]
    line.close()
    assert offset(sender, address) == 2 * CHUNK
    assert patch(sender, address, FILM[2 * CHUNK :], at=2 * CHUNK).status_code == 204
    assert Path(recorded().original.path).read_bytes() == FILM


def test_two_at_once(sender: requests.Session, address: str):
    films = [FILM, FILM[:12] + os.urandom(len(FILM) - 12)]
    answers: list[int] = []
    headers = dict(sender.headers)

    def send(film: bytes) -> None:
        own = requests.Session()
        own.headers.update(headers)
        answers.append(patch(own, address, film, at=0).status_code)

    threads = [Thread(target=send, args=[film]) for film in films]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(answers) == [204, 409]
    assert Path(recorded().original.path).read_bytes() in films


def test_a_refusal_is_heard_though_much_is_being_sent(sender: requests.Session, address: str):
    assert patch(sender, address, FILM, at=5).status_code == 409
    assert sender.patch(address, data=FILM, timeout=60).status_code == 415
    as_scripts_do = {"Sec-Fetch-Dest": "empty"}
    forged = requests.patch(address, data=FILM, headers=as_scripts_do, timeout=60)
    assert (forged.status_code, forged.headers["Tus-Resumable"]) == (403, "1.0.0")
    assert offset(sender, address) == 0


def test_a_server_that_is_killed_on_the_way(portal: Portal, sender: requests.Session, address: str):
    line = begin_to_send(sender, address, FILM[: 5 * CHUNK], announced=len(FILM))
    settled(sender, address, at_least=CHUNK)
    portal.kill()
    line.close()
    portal.start()

    here = offset(sender, address)
    assert here == len(stored()) >= CHUNK
    assert stored() == FILM[:here]
    assert patch(sender, address, FILM[here:], at=here).status_code == 204
    assert recorded().sha256 == hashlib.sha256(FILM).hexdigest()
    assert Path(recorded().original.path).read_bytes() == FILM


def test_many_who_ask_at_the_same_time_bring_one_film_in(sender: requests.Session, address: str):
    """Its last byte is here, and nobody has taken it yet."""
    path_of(f"arriving/{Arrival.objects.get().code}.part").write_bytes(FILM)
    headers = dict(sender.headers)

    def ask() -> None:
        offsets.append(requests.head(address, headers=headers, timeout=60).headers["Upload-Offset"])

    offsets: list[str] = []
    threads = [Thread(target=ask) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert offsets == [str(len(FILM))] * 6
    assert Path(recorded().original.path).read_bytes() == FILM
    assert Job.objects.get().kind == "recordings.prepare"
