"""Sending invitations as a job."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from portal.jobs.models import Job
from portal.mailroom import jobs as mailroom_jobs
from portal.mailroom.models import OutgoingMail
from portal.mailroom.skipping import skip
from portal.roster import inviting
from portal.roster.models import Invitation


def send_invitation(job: Job, at: datetime) -> None:
    """`{"mail": code, "invitation": code}`. A night may lie between the attempts, so each asks
    anew."""
    invitations = Invitation.objects.select_related("club", "user", "swimmer__club")
    invitation = invitations.filter(code=job.payload["invitation"]).first()
    if invitation is None or not inviting.holds(invitation, at=at):
        skip(
            OutgoingMail.objects.filter(code=job.payload["mail"]),
            why=_("The invitation was taken back before this left."),
        )
    mailroom_jobs.send(job, at)
