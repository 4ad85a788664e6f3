"""Sheets for the staff of their squad, or 404. That only coaches print is the view's question."""

from __future__ import annotations

from uuid import UUID

from django.shortcuts import get_object_or_404

from portal.people.access import Actor
from portal.reports.models import Sheet


def sheet_for(actor: Actor, code: UUID) -> Sheet:
    sheets = Sheet.objects.filter(actor.staff_filter("session__squad"))
    return get_object_or_404(sheets.select_related("session__squad__club"), code=code)
