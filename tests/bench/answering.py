"""The portal's own web server, started as `serve` starts it, on a port of the loopback."""

from __future__ import annotations

import os
import socket
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from django.test import Client

from portal.jobs.management.commands import serve
from portal.people.models import User
from tests.factors import show_factor
from tests.servers import until


@contextmanager
def portal(settings: Mapping[str, str] | None = None) -> Iterator[int]:
    """Its port; `settings` are added to the environment."""
    with socket.create_server(("127.0.0.1", 0)) as bound:
        port = bound.getsockname()[1]
        process = subprocess.Popen(
            serve.web(bound, grace=5).command,
            env={**os.environ, "FLAGLINE_ADDRESS": f"http://localhost:{port}", **(settings or {})},
            pass_fds=[bound.fileno()],
        )
    try:
        until(lambda: socket.create_connection(("127.0.0.1", port)).close(), process)
        yield port
    finally:
        process.terminate()
        process.wait(timeout=20)


def cookie(user: User) -> dict[str, str]:
    """Name and value of a session of this person."""
    client = Client()
    client.force_login(user)
    show_factor(client)
    return {name: morsel.value for name, morsel in client.cookies.items()}


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as bound:
        return int(bound.getsockname()[1])
