"""What was said about a session, said better; and a session that does not take place."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.people.models import User
from portal.recordings.models import Clip, Session
from portal.recordings.opening import Plan

# What hangs on a session and may go with it: plans, and nothing that anybody saw.
PLANS = {"turns"}
FILM = {"recordings", "arrivals"}


class Refused(Exception):
    """Nothing has changed; the message says why and what to do."""


@transaction.atomic
def amend(session: Session, plan: Plan, *, by: User, at: datetime) -> None:
    """Everything but the squad; the day only as long as no clip is cut and nothing is written,
    since who swam and who may be filmed was asked for that day, and what was seen has its date."""
    if plan.date != session.date and not may_move(session):
        raise Refused(
            _("Clips are cut or notes are written in this session, so its day stays as it is.")
        )
    session.pool, session.kind, session.theme = plan.pool, plan.kind, plan.theme
    session.course, session.date = plan.course or plan.pool.course, plan.date
    session.save(update_fields=["pool", "kind", "theme", "course", "date"])
    club = session.squad.club
    note(Entry.Action.CHANGED, session, at=at, by=by, club=club, date=plan.date.isoformat())


@transaction.atomic
def call_off(session: Session, *, by: User, at: datetime) -> None:
    """It leaves the portal, with its film list."""
    if not is_bare(session):
        raise Refused(_("Something was filmed or written in this session, so it stays."))
    note(Entry.Action.REMOVED, session, at=at, by=by, club=session.squad.club)
    session.delete()


def may_move(session: Session) -> bool:
    is_cut = Clip.objects.kept().filter(recording__session=session).exists()
    return not is_cut and _has_only(session, {*PLANS, *FILM})


def is_bare(session: Session) -> bool:
    """Nothing hangs on it but plans. Not even what was thrown away: that, too, has its record."""
    return _has_only(session, PLANS)


def _has_only(session: Session, names: set[str]) -> bool:
    return not any(
        relation.related_model._base_manager.filter(**{relation.field.name: session}).exists()
        for relation in Session._meta.related_objects
        if relation.get_accessor_name() not in names
    )
