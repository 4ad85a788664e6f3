"""The whole portal as it runs writes its log as lines of JSON without anybody's words."""

from __future__ import annotations

import http.client
import json
import socket

from django.utils import timezone

from portal.jobs.models import Job
from portal.jobs.queueing import enqueue
from tests.jobs.conftest import PATIENCE, Crew, eventually
from tests.jobs.test_serve import FREE, port_of

# What tests.broken complains of, and what is asked of the pages below.
CANARIES = ["Ines", "Falk", "flamingo", "heron"]


def ask(port: int, path: str, host: str = "") -> int:
    asking = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        asking.request("GET", path, headers={"Host": host or f"localhost:{port}"})
        return asking.getresponse().status
    finally:
        asking.close()


def mumble(port: int, words: bytes) -> bytes:
    """Something that is no request."""
    with socket.create_connection(("127.0.0.1", port), timeout=10) as line:
        line.sendall(words)
        return line.recv(200)


def test_it_works(crew: Crew):
    serving = crew.start(*FREE)
    port = port_of(crew)
    broken = enqueue("tests.broken", key="heron", payload={}, at=timezone.now())
    eventually(lambda: Job.objects.get(pk=broken.pk).attempts == 1)

    assert ask(port, "/flamingo/?heron=1") == 404
    assert ask(port, "/", host="flamingo.example") == 400
    assert b"400" in mumble(port, b"GET /flamingo heron\r\nHost: flamingo\r\n\r\n")
    serving.terminate()
    assert serving.wait(PATIENCE) == 0

    said = crew.said()
    lines = [json.loads(line) for line in said.splitlines() if line.startswith("{")]
    events = [line.get("event") for line in lines]
    assert events.count("job broke") == 1
    assert {line.get("status") for line in lines if line.get("event") == "answered"} >= {400, 404}
    assert "gunicorn.error" in {line["logger"] for line in lines}
    assert [canary for canary in CANARIES if canary in said] == []
    # Between them stands what `serve` says to whoever started it.
    assert [line for line in said.splitlines() if line.startswith("Flagline answers at ")]
