"""Sending as a job."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from portal.jobs.models import Job
from portal.jobs.running import Hopeless
from portal.mailroom import sending
from portal.mailroom.models import OutgoingMail


def send(job: Job, at: datetime) -> None:
    """`{"mail": code}`. A run that finds an earlier one’s claim sends nothing."""
    mail = OutgoingMail.objects.select_related("club", "recipient").get(code=job.payload["mail"])
    if sending.doubt(mail):
        raise Hopeless(_("It was interrupted while it was sent. It may have arrived or not."))
    try:
        sending.send(mail, at=at)
    except sending.Undeliverable as error:
        raise Hopeless(str(error)) from error
    except sending.NotSent as error:
        if job.attempts < Job.MAX_ATTEMPTS:
            raise
        sending.forget(mail)
        raise Hopeless(str(error)) from error
