"""Running the portal's processes side by side: starting, restarting, and stopping all of them.

Each process leads its own session, so that Ctrl-C reaches the supervisor alone and so that
whatever the process started dies with its group. If the supervisor itself is killed, the kernel
(Linux) tells its processes to stop. There are no threads here, which is what makes it safe to run
a function between fork and exec.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import FrameType

MAX_RESTARTS = 5
# A process that has lived this long has a clean slate.
STEADY_SECONDS = 300.0
ROUND_SECONDS = 0.1
HURRY_SECONDS = 5.0
PR_SET_PDEATHSIG = 1

_libc = ctypes.CDLL(None) if sys.platform == "linux" else None


class GaveUp(Exception):
    """A process died again and again."""


@dataclass
class Part:
    """One process of the portal; `hurry` makes it stop faster than SIGTERM does, leaving what
    it had begun."""

    name: str
    command: Sequence[str]
    hurry: signal.Signals = signal.SIGTERM
    sockets: Sequence[int] = ()
    restarts: int = 0
    starts_at: float = 0.0
    process: subprocess.Popen[bytes] | None = None
    rest: bytes = field(default=b"", repr=False)
    """What it has printed since its last whole line."""


class Supervisor:
    def __init__(
        self,
        parts: Sequence[Part],
        *,
        environment: Mapping[str, str],
        say: Callable[[str], None],
        grace: float,
        back_off: float = 0.5,
    ) -> None:
        """Parts stop together, within `grace` seconds, the last few of them in a hurry;
        `back_off` is the pause before the first restart, in seconds, and doubles with each."""
        self.parts = parts
        self.environment = environment
        self.say = say
        self.grace = grace
        self.back_off = back_off
        self.signals = 0
        self.pipes = selectors.DefaultSelector()

    def heed_signals(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, self._on_signal)

    def _on_signal(self, _number: int, _frame: FrameType | None) -> None:
        self.signals += 1

    def tend(self, *, greet: Callable[[], bool]) -> None:
        """Until a signal comes, or raise GaveUp; in either case nothing is left running.
        `greet` is asked every round until it says True: the portal has been announced."""
        is_greeted = False
        try:
            while not self.signals:
                for part in self.parts:
                    self._keep_alive(part)
                self._forward(ROUND_SECONDS)
                is_greeted = is_greeted or greet()
        finally:
            self._stop_all()
            self.pipes.close()

    def _keep_alive(self, part: Part) -> None:
        if part.process is None:
            if time.monotonic() >= part.starts_at:
                self._start(part)
        elif part.process.poll() is not None:
            self._after_death(part, part.process.returncode)

    def _start(self, part: Part) -> None:
        part.starts_at = time.monotonic()
        part.process = subprocess.Popen(  # noqa: S603 - our own commands
            part.command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            env=self.environment,
            start_new_session=True,
            pass_fds=part.sockets,
            preexec_fn=_tie_to(os.getpid(), part.hurry),
        )
        if part.process.stdout:
            self.pipes.register(part.process.stdout, selectors.EVENT_READ, part)

    def _after_death(self, part: Part, status: int) -> None:
        self._clear(part)
        now = time.monotonic()
        if now - part.starts_at > STEADY_SECONDS:
            part.restarts = 0
        if part.restarts == MAX_RESTARTS:
            raise GaveUp(
                f"{part.name} ended {MAX_RESTARTS + 1} times, at last with status {status}, so "
                "everything was stopped. Its lines above say why; mend that and start again."
            )
        pause = self.back_off * 2**part.restarts
        part.restarts += 1
        part.starts_at = now + pause
        self.say(f"{part.name} ended with status {status}; it starts again in {pause:g} s.")

    def _clear(self, part: Part) -> None:
        """Kill what is left of the part's group, print its last words, let go of its pipe."""
        if (process := part.process) is None:
            return
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        self._forward(0)
        if process.stdout:
            with contextlib.suppress(KeyError):
                self.pipes.unregister(process.stdout)
            process.stdout.close()
        if part.rest:
            self._print(part, part.rest)
        part.rest, part.process = b"", None

    def _forward(self, timeout: float) -> None:
        """Print whole lines of the parts, each behind the part's name."""
        for key, _events in self.pipes.select(timeout):
            part: Part = key.data
            printed = os.read(key.fd, 65536)
            if not printed:
                self.pipes.unregister(key.fileobj)
            *lines, part.rest = (part.rest + printed).split(b"\n")
            for line in lines:
                self._print(part, line)

    def _print(self, part: Part, line: bytes) -> None:
        """A line of the journal as it is, for programs; others with the part's name."""
        said = line.decode(errors="replace")
        self.say(said if said.startswith("{") else f"{part.name:<4} | {said}")

    def _stop_all(self) -> None:
        hurry = time.monotonic() + max(self.grace - HURRY_SECONDS, 0)
        asked = self.signals
        for part in self.parts:
            _send(part, signal.SIGTERM)
        while self._are_alive() and self.signals == asked and time.monotonic() < hurry:
            self._forward(ROUND_SECONDS)
        until = time.monotonic() + min(self.grace, HURRY_SECONDS)
        for part in self.parts:
            _send(part, part.hurry)
        while self._are_alive() and time.monotonic() < until:
            self._forward(ROUND_SECONDS)
        for part in self.parts:
            self._clear(part)

    def _are_alive(self) -> bool:
        return any(part.process and part.process.poll() is None for part in self.parts)


def _send(part: Part, number: signal.Signals) -> None:
    if part.process is not None:
        part.process.send_signal(number)


def _tie_to(parent: int, number: signal.Signals) -> Callable[[], None]:
    """For the child between fork and exec: this signal when the parent dies of whatever."""

    def tie() -> None:
        if _libc is not None:
            _libc.prctl(PR_SET_PDEATHSIG, number)
        if os.getppid() != parent:
            os._exit(1)

    return tie
