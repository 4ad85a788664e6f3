"""What beat rings: the sweeper, who finds jobs that nobody heard of, and the planners.

Every tick may come twice or not at all, so nobody need remember the last one.
"""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.utils import timezone

from portal.jobs import kinds, planning
from portal.jobs.doorbell import app, ring_now
from portal.jobs.models import Job

# A job that has been due for longer than this should have been heard of.
LATE = timedelta(seconds=min(5, settings.SWEEP_SECONDS))
SWEPT_AT_ONCE = 500

app.conf.update(
    beat_scheduler="celery.beat:Scheduler",
    beat_schedule={
        name: {
            "task": f"flagline.{name}",
            "schedule": settings.SWEEP_SECONDS,
            "options": {"expires": settings.SWEEP_SECONDS},
        }
        for name in ("sweep", "plan")
    },
)


@app.task(name="flagline.plan")
def plan() -> None:
    planning.plan_due(at=timezone.now())


@app.task(name="flagline.sweep")
def sweep() -> None:
    """Ring for jobs that have been due and free for a while: bells may have been lost, leases
    run out, and a pause before another attempt ends without anybody saying so. Where as many
    bells hang as jobs wait, the workers are only busy."""
    for queue in kinds.queues():
        late = Job.objects.claimable(timezone.now() - LATE).filter(queue=queue)
        if late.count() > _bells(queue):
            for job in late.order_by("due_at", "id")[:SWEPT_AT_ONCE]:
                ring_now(job.code, queue)


def _bells(queue: str) -> int:
    """How many messages wait in Redis."""
    with app.connection_for_read() as connection:
        return int(connection.default_channel.client.llen(queue))
