"""A worker process: it looks for work twice a second and stops without losing any.

The first SIGTERM or Ctrl-C lets the running job finish within the grace period; a second one,
the end of the period, or the death of the supervisor puts the job back at once. Programs that a
job started (ffmpeg) stay in the worker's process group: the worker ends them when it puts the
job back, and the supervisor kills the whole group when the worker itself was killed.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from types import FrameType

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from portal.jobs import claiming, planning, running

POLL_SECONDS = 0.5
# How often a worker that is stopping looks up. A signal that arrives just as the job begins to
# wait for a program is otherwise seen only when that program ends.
TICK_SECONDS = 0.5


class Interrupted(BaseException):
    """Raised in the midst of a job that may not go on; no job catches it as its own error."""


class Worker:
    def __init__(self, *, queues: Sequence[str], grace: float, parent: int | None = None) -> None:
        """`grace` in seconds; `parent` is the supervisor's process, without which it stops."""
        self.queues = queues
        self.grace = grace
        self.parent = parent
        self.name = claiming.new_name()
        self.plans_at = 0.0
        self.is_stopping = False
        self.stops_by = 0.0
        self.may_interrupt = False

    @contextmanager
    def heeding_signals(self) -> Iterator[None]:
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGALRM):
            signal.signal(number, self._on_signal)
        yield
        # A tick during the interpreter's own end would count as being killed.
        signal.setitimer(signal.ITIMER_REAL, 0)

    def work_on(self) -> None:
        """Until told to stop."""
        while not self.is_stopping and not self._is_orphan():
            close_old_connections()
            self._plan()
            if not self._work_once():
                # Not in step with other workers.
                time.sleep(POLL_SECONDS * random.uniform(0.8, 1.2))  # noqa: S311

    def _plan(self) -> None:
        """The clock's own jobs, now and then."""
        if time.monotonic() >= self.plans_at:
            self.plans_at = time.monotonic() + settings.SWEEP_SECONDS
            planning.plan_due(at=timezone.now())

    def drain(self) -> None:
        """Until nothing is due."""
        while not self.is_stopping and self._work_once():
            pass

    def _work_once(self) -> bool:
        """False: nothing was due."""
        now = timezone.now()
        job = claiming.claim(queues=self.queues, worker=self.name, at=now)
        if job is None:
            return False
        try:
            self.may_interrupt = True
            running.run(job, at=now)
        except Interrupted:
            running.put_back(job)
        finally:
            self.may_interrupt = False
        return True

    def _on_signal(self, number: int, _frame: FrameType | None) -> None:
        is_asked_again = self.is_stopping and number != signal.SIGALRM
        if not self.is_stopping:
            self.is_stopping = True
            self.stops_by = time.monotonic() + self.grace
            signal.setitimer(signal.ITIMER_REAL, TICK_SECONDS, TICK_SECONDS)
        if is_asked_again or time.monotonic() >= self.stops_by or self._is_orphan():
            self._interrupt()

    def _interrupt(self) -> None:
        """At most once a job, so that putting it back is not interrupted too."""
        if self.may_interrupt:
            self.may_interrupt = False
            end_own_group()
            raise Interrupted

    def _is_orphan(self) -> bool:
        return self.parent is not None and os.getppid() != self.parent


def end_own_group() -> None:
    """SIGTERM to what the worker's jobs started, if the worker leads its group, as it does
    under `serve` and in a shell. Otherwise the group holds its elders too and is left alone."""
    if os.getpgrp() == os.getpid():
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        os.killpg(0, signal.SIGTERM)
