"""Celery as a doorbell: its messages carry a job's code and nothing else.

The row stays the truth. A message that is lost is rung again by the sweeper, and one that comes
twice finds the job taken; so neither a flushed Redis nor a message given out again after its
visibility time-out does harm. Without Redis nobody rings and the workers poll.
"""

from __future__ import annotations

import logging
import time
from functools import partial
from uuid import UUID

from celery import Celery
from django.conf import settings
from django.db import transaction
from django.utils import timezone
from kombu.exceptions import KombuError
from redis.exceptions import RedisError

from portal.jobs import claiming, running
from portal.jobs.models import Job

log = logging.getLogger(__name__)

# After a failure nobody tries to ring for this long: each try may keep a page waiting.
STILL_SECONDS = 10.0

app = Celery("flagline", broker=settings.REDIS or None)
app.conf.update(
    task_default_queue="default",
    task_ignore_result=True,
    # A message is given back when its worker dies; the lease decides who does the job.
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    worker_hijack_root_logger=False,
    worker_enable_remote_control=False,
    broker_connection_retry_on_startup=True,
    # Workers wait for Redis as long as it takes; whoever rings for a job does not.
    broker_connection_max_retries=None,
    broker_transport_options={"max_retries": 0, "socket_connect_timeout": 2, "socket_timeout": 3},
)


@app.task(name="flagline.do")
def do(code: str) -> None:
    running.answer(UUID(code), worker=claiming.new_name(), at=timezone.now())


class Bell:
    def __init__(self) -> None:
        self.still_until = 0.0

    def ring(self, code: UUID, queue: str) -> None:
        if time.monotonic() < self.still_until:
            return
        try:
            do.apply_async([str(code)], queue=queue, retry=False)
        except (KombuError, RedisError, OSError) as error:
            self.still_until = time.monotonic() + STILL_SECONDS
            log.warning("no bell", extra={"job": code, "error": type(error).__name__})


_bell = Bell()


def ring(job: Job) -> None:
    """Once the caller's transaction stands. Never fails: the sweeper rings again."""
    if settings.REDIS:
        transaction.on_commit(partial(ring_now, job.code, job.queue), robust=True)


def ring_now(code: UUID, queue: str) -> None:
    _bell.ring(code, queue)
