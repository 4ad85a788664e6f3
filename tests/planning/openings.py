"""Open items of swimmers, by way of what was said of them in some sessions."""

from __future__ import annotations

from portal.items import refreshing
from portal.items.models import Observation, Verdict
from portal.people.models import Swimmer
from portal.technique.models import Fault
from tests.cast import Cast
from tests.items import seen

NEW = [Verdict.WORK_ON]
RECURRING = [Verdict.WORK_ON, Verdict.WORK_ON]
NOT_LEGAL = [Verdict.NOT_LEGAL]


def has(cast: Cast, swimmer: Swimmer, fault: Fault, verdicts: list[Verdict] = RECURRING) -> None:
    """One session a verdict, a week apart."""
    Observation.objects.bulk_create(
        seen.said(cast, seen.session(cast, days_ago=7 * back), fault, verdict, swimmer=swimmer)
        for back, verdict in enumerate(verdicts)
    )
    refreshing.refresh(swimmer.pk, {fault.checkpoint_id})
