"""Planning and sending as jobs."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from portal.digests import planning, withholding
from portal.jobs.models import Job
from portal.mailroom import jobs as mailroom_jobs
from portal.mailroom.models import OutgoingMail


def plan(job: Job, at: datetime) -> None:  # noqa: ARG001 - every job has these two
    planning.plan(at)


def send(job: Job, at: datetime) -> None:
    """`{"mail": code}`. Hours may lie between the attempts, so each asks anew."""
    mails = OutgoingMail.objects.select_related("club", "recipient")
    mail = mails.get(code=job.payload["mail"])
    if mail.state == OutgoingMail.State.DUE and not withholding.still_holds(mail, at=at):
        why = _("Something in it was taken back, or its reader stopped it, before it left.")
        withholding.withhold(mail, why=why)
    else:
        mailroom_jobs.send(job, at)
