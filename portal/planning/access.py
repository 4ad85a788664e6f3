"""A lane plan, or one of its lanes, by its code, or 404."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.planning.models import Lane, Plan


def plan_for(actor: Actor, code: UUID) -> Plan:
    plans = Plan.objects.visible_to(actor).select_related("squad__club", "proposed_by", "kept_by")
    return get_object_or_404(plans, code=code)


def lane_for(actor: Actor, code: UUID) -> Lane:
    lanes = Lane.objects.visible_to(actor).select_related("plan__squad__club", "checkpoint")
    return get_object_or_404(lanes, code=code)
