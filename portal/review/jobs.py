"""Sending notices as a job."""

from __future__ import annotations

from datetime import datetime

from portal.jobs.models import Job
from portal.mailroom import jobs as mailroom_jobs
from portal.mailroom.models import OutgoingMail
from portal.review import telling
from portal.review.models import Review


def send_notice(job: Job, at: datetime) -> None:
    """`{"mail": code, "review": code}`. Hours may lie between the attempts, so each asks anew
    whether its reader may still be told."""
    mail = OutgoingMail.objects.select_related("recipient").get(code=job.payload["mail"])
    reviews = Review.objects.select_related("swimmer__user", "session__squad__club")
    if not telling.may_be_told(reviews.get(code=job.payload["review"]), mail.recipient, at=at):
        telling.stop(mail)
    mailroom_jobs.send(job, at)
