from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from subprocess import Popen

import pytest
from django.conf import settings

from portal.jobs import doorbell
from tests.jobs.conftest import Crew, crew, kinds_of_tests, newcomers
from tests.servers import own_folder, program, started_redis

__all__ = ["crew", "kinds_of_tests", "newcomers"]

# These tests stand on what `python -m tests.production` starts.
collect_ignore_glob = [] if settings.REDIS and settings.DATABASE else ["test_*.py"]


@pytest.fixture(autouse=True)
def rested_bell(monkeypatch) -> None:
    """No test inherits the rest that another's failure brought on."""
    monkeypatch.setattr(doorbell, "_bell", doorbell.Bell())


@dataclass
class OwnRedis:
    """One that a test may stop and start."""

    home: Path
    running: ExitStack = field(default_factory=ExitStack)

    @property
    def socket(self) -> Path:
        return self.home / "r.sock"

    def start(self) -> None:
        self.running.enter_context(started_redis(program("redis-server"), self.home))

    def stop(self) -> None:
        self.running.close()


@pytest.fixture
def own_redis() -> Iterator[OwnRedis]:
    with own_folder() as home:
        server = OwnRedis(home)
        server.start()
        yield server
        server.stop()


@dataclass
class Celery:
    """The crew's workers, as the units of deploy/ start them."""

    crew: Crew

    def worker(self, queue: str = "default") -> Popen[bytes]:
        name = f"{queue}{len(self.crew.started)}@%h"
        words = f"--app portal worker --queues {queue} --concurrency 1 --loglevel INFO".split()
        return self.crew.run("-m", "celery", *words, "--hostname", name)

    def beat(self, **environment: str) -> Popen[bytes]:
        words = ["--app", "portal", "beat", "--loglevel", "INFO"]
        return self.crew.run("-m", "celery", *words, **environment)


@pytest.fixture
def celery(crew: Crew, own_redis: OwnRedis) -> Celery:
    crew.environment["FLAGLINE_REDIS"] = f"redis+socket://{own_redis.socket}"
    return Celery(crew)
