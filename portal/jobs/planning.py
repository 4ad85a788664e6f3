"""Jobs that come round by the clock: in every slot of time one of each kind, whoever looks.

Planners only look what is due and put it into the queue, so a slot that nobody looked in is
not made up for.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings

from portal.jobs.models import Job
from portal.jobs.queueing import enqueue

# So long the rows of planners that have run are kept; there are hundreds a day.
KEPT = timedelta(days=1)


def plan_due(*, at: datetime) -> None:
    """The job of this slot for each kind in settings.PLANNERS, which says a slot's seconds."""
    for kind, seconds in settings.PLANNERS.items():
        slot = int(at.timestamp()) // seconds
        enqueue(kind, key=f"{kind}:{slot}", payload={}, at=at)
    Job.objects.filter(kind__in=settings.PLANNERS, ended_at__lt=at - KEPT).delete()
