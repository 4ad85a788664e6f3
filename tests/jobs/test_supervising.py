"""The supervisor with toy processes; the portal's own are in test_serve."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from portal.jobs.supervising import GaveUp, Part, Supervisor
from tests.jobs.conftest import eventually


class Toys:
    """Supervises small programs and keeps what it said."""

    def __init__(self, *programs: str, grace: float = 5) -> None:
        self.said: list[str] = []
        self.supervisor = Supervisor(
            [
                Part(name=f"toy{number}", command=[sys.executable, "-u", "-c", program])
                for number, program in enumerate(programs)
            ],
            environment=os.environ,
            say=self.said.append,
            grace=grace,
            back_off=0.01,
        )

    def tend(self, *, until: Callable[[], object]) -> None:
        """Stop it, as a signal would, when it is so."""

        def greet() -> bool:
            if until():
                self.supervisor.signals += 1
            return False

        self.supervisor.tend(greet=greet)

    def pid(self, number: int = 0) -> int:
        process = self.supervisor.parts[number].process
        return process.pid if process else 0


PATIENT = "import time; print('ready'); time.sleep(600)"
STUBBORN = "import signal, time; signal.signal(15, signal.SIG_IGN); print('ready'); time.sleep(600)"


def is_gone(pid: int) -> bool:
    return not Path(f"/proc/{pid}").exists()


def test_it_works():
    toys = Toys("print('a'); print('b'); import time; time.sleep(600)", PATIENT)

    toys.tend(until=lambda: len(toys.said) == 3)

    assert sorted(toys.said) == ["toy0 | a", "toy0 | b", "toy1 | ready"]


def test_stopping_leaves_nothing():
    toys = Toys(PATIENT, PATIENT)
    pids: list[int] = []

    def both_ready() -> bool:
        pids[:] = [toys.pid(0), toys.pid(1)]
        return len(toys.said) == 2

    toys.tend(until=both_ready)

    assert all(pids)
    assert all(is_gone(pid) for pid in pids)


def test_what_dies_again_and_again_stops_everything():
    toys = Toys("print('oh', end=''); raise SystemExit(7)", PATIENT)
    others: set[int] = set()

    with pytest.raises(GaveUp, match="toy0 ended 6 times, at last with status 7"):
        toys.tend(until=lambda: others.add(toys.pid(1)))

    assert toys.said.count("toy0 | oh") == 6
    assert "toy0 ended with status 7; it starts again in 0.16 s." in toys.said
    assert all(is_gone(pid) for pid in others if pid)


def test_a_long_life_wipes_the_slate(monkeypatch):
    """Every life of the toy counts as long here, so it never dies too often."""
    monkeypatch.setattr("portal.jobs.supervising.STEADY_SECONDS", 0.0)
    toys = Toys("print('oh'); raise SystemExit(7)")

    toys.tend(until=lambda: toys.said.count("toy0 | oh") == 8)

    assert "toy0 ended with status 7; it starts again in 0.02 s." not in toys.said


def test_what_does_not_stop_is_killed_after_the_grace():
    toys = Toys(STUBBORN, grace=0.5)
    pids: set[int] = set()

    def ready() -> bool:
        pids.add(toys.pid())
        return bool(toys.said)

    toys.tend(until=ready)

    assert all(is_gone(pid) for pid in pids if pid)


def test_what_a_dead_process_had_started_is_killed_with_it():
    """Like ffmpeg under a worker that was killed."""
    toys = Toys(
        "import subprocess; p = subprocess.Popen(['sleep', '600']); print(p.pid); raise SystemExit"
    )

    toys.tend(until=lambda: toys.said)

    left = int(toys.said[0].removeprefix("toy0 | "))
    eventually(lambda: is_gone(left))
