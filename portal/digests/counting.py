"""How often the same was seen before, in the few words that are certain."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items.models import Observation
from portal.kit.signs import Sign
from portal.progress.charting import FAULTY, Row, Seen, columns, rows

FEWEST_LOOKS = 2
RECENT_LOOKS = 5


def counted(observations: Sequence[Observation]) -> dict[tuple[UUID, UUID], str]:
    """One swimmer's observations in; a sentence for each, by the codes of review and comment.
    It is empty where there were too few looks to say anything."""
    shown = columns({(each.session_id, each.date) for each in observations})
    drawn = rows([_seen(each) for each in observations], shown)
    return {
        (each.review_code, each.comment_code): _sentence(_seen(each), drawn)
        for each in observations
    }


def _seen(observation: Observation) -> Seen:
    return Seen(
        session=observation.session_id,
        stroke=observation.stroke,
        checkpoint=str(observation.checkpoint_id),
        fault=str(observation.fault_id or ""),
        sign=Sign(observation.verdict),
    )


def _sentence(seen: Seen, drawn: Sequence[Row]) -> str:
    same = [row for row in drawn if (row.stroke, row.checkpoint) == (seen.stroke, seen.checkpoint)]
    if not seen.fault:
        # Praise of a checkpoint is a clean look at each of its faults.
        return _praise(min(row.clean_run for row in same))
    return _correction(next(row for row in same if row.fault == seen.fault))


def _praise(run: int) -> str:
    if run < FEWEST_LOOKS:
        return ""
    return _("Good the last %(count)d times somebody looked.") % {"count": run}


def _correction(row: Row) -> str:
    recent = [sign for sign in row.signs if sign != Sign.NOT_LOOKED_AT][-RECENT_LOOKS:]
    faulty = sum(sign in FAULTY for sign in recent)
    if len(recent) < FEWEST_LOOKS or not faulty:
        return ""
    words = _("This came up in %(faulty)d of the last %(looks)d sessions where somebody looked.")
    said = words % {"faulty": faulty, "looks": len(recent)}
    return f"{said} {_since(row.clean_run)}".rstrip()


def _since(run: int) -> str:
    """An older review can be told in the same mail as the newer one that has it good."""
    if not run:
        return ""
    words = ngettext("It was good the last time.", "It was good the last %(count)d times.", run)
    return words % {"count": run}
