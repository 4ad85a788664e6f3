"""Whether mail leaves: one to the head coach, whose fate the first evening's page tells."""

from __future__ import annotations

import uuid
from datetime import datetime

from portal.jobs.models import Job
from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.people.models import Club, User


def try_mail(club: Club, *, to: User, at: datetime) -> tuple[OutgoingMail, Job]:
    mail = post(
        to,
        club=club,
        kind=OutgoingMail.Kind.TRIAL,
        key=f"trial:{uuid.uuid4()}",
        template="trial",
        context={},
        at=at,
    )
    if mail is None:
        raise RuntimeError("A key made by chance was there already.")
    return mail, dispatch(mail, at=at)
