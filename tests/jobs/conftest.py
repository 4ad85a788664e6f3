from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from django.db import connection

from tests.jobs.settings import JOB_KINDS
from tests.servers import own_database

# Seconds until something counts as not happening; nothing here is about speed.
PATIENCE = 90
ROOT = Path(__file__).resolve().parent.parent.parent


def eventually(is_so: Callable[[], object], *, within: float = PATIENCE) -> None:
    began = time.monotonic()
    while not is_so():
        assert time.monotonic() - began < within, f"not so within {within} s"
        time.sleep(0.05)


@dataclass
class Crew:
    """Real processes of the portal, all with one data folder, by which they are found."""

    data: Path
    environment: dict[str, str]
    started: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def start(self, *arguments: str, **environment: str) -> subprocess.Popen[bytes]:
        """`manage.py` with these arguments."""
        return self.run("manage.py", *arguments, **environment)

    def run(self, *arguments: str, **environment: str) -> subprocess.Popen[bytes]:
        """Python with these arguments."""
        with self.log.open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, *arguments],
                cwd=ROOT,
                env={**os.environ, **self.environment, **environment},
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        self.started.append(process)
        return process

    @property
    def log(self) -> Path:
        return self.data / "crew.log"

    def said(self) -> str:
        return self.log.read_text()

    def alive(self, *, word: str = "") -> list[int]:
        """Living processes of this crew, their programs included, whose command has the word."""
        mark = f"FLAGLINE_DATA={self.data}\0".encode()
        return [
            int(process.name)
            for process in Path("/proc").iterdir()
            if process.name.isdigit()
            and mark in _read(process / "environ")
            and word.encode() in _read(process / "cmdline")
        ]

    def disband(self) -> None:
        for process in self.started:
            process.kill()
            process.wait()
        for pid in self.alive():
            os.kill(pid, signal.SIGKILL)


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError:
        return b""


@pytest.fixture(autouse=True)
def kinds_of_tests(settings, tmp_path: Path) -> None:
    settings.JOB_KINDS = JOB_KINDS
    settings.PLANNERS = {}
    settings.DATA_DIR = tmp_path


@pytest.fixture
def newcomers(tmp_path: Path) -> Iterator[Crew]:
    """Processes with a database of their own, which does not exist yet."""
    settings = {"FLAGLINE_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "tests.jobs.settings"}
    with own_database() as database:
        quick = {"FLAGLINE_JOB_LEASE": "2", "FLAGLINE_SWEEP": "1"}
        crew = Crew(tmp_path, {**settings, **database, **quick})
        yield crew
        crew.disband()


@pytest.fixture
def crew(transactional_db, newcomers: Crew) -> Crew:
    """Processes on the database of this test, so that both see the same jobs."""
    newcomers.environment["FLAGLINE_TEST_DATABASE"] = str(connection.settings_dict["NAME"])
    return newcomers
