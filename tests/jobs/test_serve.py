"""The one command, with the real web server and workers on a free port of its own:
Celery's workers where Redis is set, our own otherwise."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket

from django.utils import timezone

from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.jobs import kinds
from tests.jobs.conftest import PATIENCE, Crew, eventually

ANSWERS = re.compile(r"^Flagline answers at http://localhost:(\d+) \(Ctrl-C stops it\)\.$", re.M)
FREE = ("serve", "--port", "0", "--grace", "6")


def port_of(crew: Crew) -> int:
    """Wait for the line that announces the portal."""
    eventually(lambda: ANSWERS.search(crew.said()))
    return [int(port) for port in ANSWERS.findall(crew.said())][-1]


def get(port: int, path: str) -> tuple[int, bytes]:
    asking = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        asking.request("GET", path, headers={"Host": f"localhost:{port}"})
        response = asking.getresponse()
        return response.status, response.read()
    finally:
        asking.close()


def test_it_works(newcomers: Crew):
    """From an empty folder to a page with its styles, and to a stop that leaves nothing."""
    serving = newcomers.start(*FREE)
    port = port_of(newcomers)

    assert get(port, "/health/") == (200, b"ok")
    status, page = get(port, "/sign-in/")
    assert status == 200
    styles = re.findall(rb'href="(/static/css/[^"]+)"', page)
    assert styles
    assert {get(port, style.decode())[0] for style in styles} == {200}

    again = newcomers.start(*FREE)
    assert again.wait(PATIENCE) == 1
    assert f"(process {serving.pid}). Stop that one first" in newcomers.said()

    serving.send_signal(signal.SIGINT)
    assert serving.wait(PATIENCE) == 0
    assert newcomers.alive() == []


def test_killed_parts_come_back(crew: Crew):
    """The worker is killed together with the program its job waits for."""
    serving = crew.start(*FREE)
    port = port_of(crew)
    job = enqueue("tests.confined", key="a", payload={}, at=timezone.now())
    eventually(kinds.programs)
    [program] = kinds.programs()

    os.kill(min(crew.alive(word="media")), signal.SIGKILL)
    eventually(lambda: len(kinds.lines("runs")) == 2)
    assert program not in kinds.programs()

    os.kill(min(crew.alive(word="gunicorn")), signal.SIGKILL)
    eventually(lambda: crew.said().count("starts again") == 2)
    assert get(port, "/health/") == (200, b"ok")

    serving.terminate()
    assert serving.wait(PATIENCE) == 0
    job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.QUEUED, 1), "the second attempt was given back"
    assert crew.alive() + kinds.programs() == []


def test_a_killed_supervisor_leaves_no_orphans(crew: Crew):
    serving = crew.start(*FREE)
    port_of(crew)
    job = enqueue("tests.confined", key="a", payload={}, at=timezone.now())
    eventually(kinds.programs)
    assert len(crew.alive()) >= 5, "supervisor, two workers, web server and its child"

    serving.kill()
    serving.wait()

    eventually(lambda: crew.alive() + kinds.programs() == [])
    job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.QUEUED, 0)


def test_a_busy_port_is_told(crew: Crew):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]

        assert crew.start("serve", "--port", str(port)).wait(PATIENCE) == 1

    assert f"Port {port} at 127.0.0.1 is in use by another program." in crew.said()


def test_the_demo_is_refused_off_the_loopback(newcomers: Crew):
    serving = newcomers.start("serve", "--address", "0.0.0.0", FLAGLINE_DEMO="1")  # noqa: S104

    assert serving.wait(PATIENCE) == 1
    assert "can be reached from other machines" in newcomers.said()
    assert not (newcomers.data / "static").exists(), "refused before anything was prepared"
