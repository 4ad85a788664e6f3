"""What a coach changes in a plan. Every verb looks at the rows as they are now."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from portal.people.models import Swimmer, User
from portal.planning.models import Lane, Plan, Seat
from portal.planning.wanting import swimmers_of


class Refused(Exception):
    """Nothing has changed; the message says why and what to do."""


def swimmer_in(plan: Plan, code: str) -> Swimmer:
    """Of the squad on that day, by the code that a form sent."""
    there = swimmers_of(plan.squad, on=plan.date)
    found = next((each for each in there if str(each.code) == code), None)
    if found is None:
        raise Refused(_("This swimmer is not in the squad on that day. Look at the list anew."))
    return found


def lane_in(plan: Plan, number: str) -> Lane:
    found = next((each for each in plan.lanes.all() if str(each.number) == number), None)
    if found is None:
        raise Refused(_("The plan has no such lane. Choose one of those on the page."))
    return found


@transaction.atomic
def seat(plan: Plan, swimmer: Swimmer, lane: Lane) -> None:
    """Into a lane, where they are held: whoever was moved by hand is not moved by the portal."""
    Plan.objects.select_for_update().get(pk=plan.pk)
    others = Seat.objects.filter(lane=lane).exclude(swimmer=swimmer).count()
    if others >= plan.seats:
        raise Refused(
            _("Lane %(number)s is full. Take somebody out of it first.") % {"number": lane.number}
        )
    Seat.objects.update_or_create(
        plan=plan, swimmer=swimmer, defaults={"lane": lane, "is_held": True}
    )


def unseat(plan: Plan, swimmer: Swimmer) -> None:
    Seat.objects.filter(plan=plan, swimmer=swimmer).delete()


def hold(plan: Plan, swimmer: Swimmer, *, is_held: bool) -> None:
    Seat.objects.filter(plan=plan, swimmer=swimmer).update(is_held=is_held)


@transaction.atomic
def seat_the_rest(plan: Plan) -> int:
    """Everybody without a place, by name, always into the emptiest lane. How many found one."""
    Plan.objects.select_for_update().get(pk=plan.pk)
    taken = set(Seat.objects.filter(plan=plan).values_list("swimmer_id", flat=True))
    lanes = list(plan.lanes.all())
    counts = {lane.pk: Seat.objects.filter(lane=lane).count() for lane in lanes}
    new = []
    for swimmer in swimmers_of(plan.squad, on=plan.date):
        room = [lane for lane in lanes if counts[lane.pk] < plan.seats]
        if swimmer.pk in taken or not room:
            continue
        lane = min(room, key=lambda each: (counts[each.pk], each.number))
        counts[lane.pk] += 1
        new.append(Seat(plan=plan, lane=lane, swimmer=swimmer))
    Seat.objects.bulk_create(new)
    return len(new)


def keep(plan: Plan, *, by: User, at: datetime) -> None:
    Plan.objects.filter(pk=plan.pk).update(kept_by=by, kept_at=at)
