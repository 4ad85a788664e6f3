from __future__ import annotations

import http.client
import os
import signal
import socket
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connections

from portal.jobs.guarding import AlreadyServed, NoDoor, demo_hindrance, door, only_one
from portal.jobs.supervising import GaveUp, Part, Supervisor

# Mail does not wait for a film that is being made ready. More workers may run beside `serve`.
WORKERS = {"mail": "default", "film": "media"}
WEB_THREADS = 32
# Found from any working directory, and heard at once.
PYTHON = {"PYTHONPATH": os.pathsep.join(sys.path), "PYTHONUNBUFFERED": "1"}
# Between the end of a process's own grace and its being killed.
MARGIN_SECONDS = 5


class Command(BaseCommand):
    help = "Run the whole portal: prepare the database, then the web server and the workers."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--address", default="127.0.0.1", help="Where to listen.")
        parser.add_argument("--port", type=int, default=8000, help="0 takes any free port.")
        parser.add_argument(
            "--grace",
            type=int,
            default=30,
            help="Seconds that running jobs and pages have to end when the portal stops.",
        )

    def handle(self, *, address: str, port: int, grace: int, **_options: Any) -> None:  # noqa: ANN401
        try:
            with only_one(settings.DATA_DIR):
                if hindrance := demo_hindrance(address):
                    raise CommandError(hindrance)
                with door(address, port) as bound:
                    prepare()
                    self.supervise(bound, grace=grace)
        except (AlreadyServed, NoDoor, GaveUp) as error:
            raise CommandError(str(error)) from error

    def supervise(self, bound: socket.socket, *, grace: int) -> None:
        port = bound.getsockname()[1]
        # A chosen port stands in the links of mail too, unless the club has an address.
        address = os.environ.get("FLAGLINE_ADDRESS", f"http://localhost:{port}")
        hands = celery() if settings.REDIS else workers(grace=grace)
        supervisor = Supervisor(
            [*hands, web(bound, grace=grace)],
            environment={**os.environ, "FLAGLINE_ADDRESS": address, **PYTHON},
            say=self.say,
            grace=grace,
        )
        supervisor.heed_signals()
        supervisor.tend(greet=self.greeting(bound, address))

    def greeting(self, bound: socket.socket, address: str) -> Callable[[], bool]:
        def greet() -> bool:
            if is_up := answers(bound, address):
                self.say(f"Flagline answers at {address} (Ctrl-C stops it).")
            return is_up

        return greet

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def prepare() -> None:
    """The database as this version wants it, the catalogue in it, and the static files."""
    call_command("migrate", interactive=False, verbosity=0)
    call_command("load_technique")
    call_command("collectstatic", interactive=False, verbosity=0)
    # What starts from here on opens its own.
    connections.close_all()


def workers(*, grace: int) -> list[Part]:
    own_grace = str(max(grace - MARGIN_SECONDS, 0))
    return [
        Part(
            name=name,
            command=[
                *(sys.executable, "-m", "django", "work", "--queues", queues),
                *("--grace", own_grace, "--parent", str(os.getpid())),
            ],
        )
        for name, queues in WORKERS.items()
    ]


def celery() -> list[Part]:
    """The same workers where Redis carries the bells, and beat, which rings for the sweeper.
    SIGQUIT makes them put a running job back."""
    program = [sys.executable, "-m", "celery", "--quiet", "--app", "portal"]
    parts = [
        Part(
            name=name,
            command=[
                *(*program, "worker", "--queues", queues, "--concurrency", "1"),
                *("--hostname", f"{name}-{os.getpid()}@%h", "--loglevel", "INFO"),
                *("--without-gossip", "--without-mingle", "--without-heartbeat"),
            ],
            hurry=signal.SIGQUIT,
        )
        for name, queues in WORKERS.items()
    ]
    return [*parts, Part(name="beat", command=[*program, "beat", "--loglevel", "INFO"])]


def web(bound: socket.socket, *, grace: int) -> Part:
    """One process, many threads: an upload over a slow line holds a thread, not the portal."""
    return Part(
        name="web",
        command=[
            *(sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"fd://{bound.fileno()}"),
            *("--worker-class", "gthread", "--workers", "1", "--threads", str(WEB_THREADS)),
            *("--graceful-timeout", str(max(grace - MARGIN_SECONDS, 1))),
            *("--log-level", "warning", "--logger-class", "portal.kit.webjournal.WebJournal"),
            "--no-control-socket",
        ],
        hurry=signal.SIGINT,
        sockets=[bound.fileno()],
    )


def answers(bound: socket.socket, address: str) -> bool:
    """The web server answers at the socket, whatever it says."""
    host, port, *_rest = bound.getsockname()
    nearby = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104 - not listening
    asking = http.client.HTTPConnection(nearby, port, timeout=1)
    try:
        asking.request("GET", "/health/", headers={"Host": urlsplit(address).netloc})
        asking.getresponse().read()
    except (OSError, http.client.HTTPException):
        return False
    finally:
        asking.close()
    return True
