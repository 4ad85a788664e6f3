"""The one sentence beside every number, with the counts filled in."""

from __future__ import annotations

from math import ceil, floor

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items import wording
from portal.items.estimating import (
    FEWEST_EACH,
    Band,
    is_clear_difference,
    newcombe,
    recent_band,
    wilson,
)
from portal.items.outlasting import Point, median
from portal.items.pairing import FEWEST_SEEN_TWICE, Table
from portal.items.recurrence import (
    CLEAN_SPAN,
    HALF_LIFE,
    UNSEEN_AFTER,
    UNSEEN_SESSIONS,
    Standing,
    luck,
)

FEWEST_FOR_BAND = 5

WORDS = wording.WORDS


def seen(standing: Standing) -> str:
    """k of n."""
    if not standing.looks:
        return _("nobody has looked yet")
    text = ngettext(
        "seen in %(faulty)s of the %(looks)s session where you looked",
        "seen in %(faulty)s of the %(looks)s sessions where you looked",
        standing.looks,
    )
    return text % {"faulty": standing.faulty, "looks": standing.looks}


def band(standing: Standing) -> str:
    """Wilson's band around k of n."""
    if standing.looks < FEWEST_FOR_BAND:
        return _few(standing.looks)
    text = _("with %(looks)s looks the true share could be anywhere from %(low)s to %(high)s in 10")
    return text % {"looks": standing.looks, **_tenths(wilson(standing.faulty, standing.looks))}


def recent(standing: Standing) -> str:
    """The recency rate and its band."""
    if standing.looks < FEWEST_FOR_BAND:
        return _few(standing.looks)
    text = _(
        "lately about %(rate)s in 10, roughly %(low)s to %(high)s; a session %(half)s looks ago"
        " counts half, so the band stays this wide however often you look"
    )
    tenths = _tenths(recent_band(standing.rate, standing.looks))
    return text % {"rate": round(10 * standing.rate), "half": HALF_LIFE, **tenths}


def run(standing: Standing) -> str:
    """The last run of clean or of faulty looks."""
    if standing.clean_run:
        text = ngettext(
            "clean the last time you looked",
            "clean the last %(count)s times you looked",
            standing.clean_run,
        )
        return text % {"count": standing.clean_run}
    text = ngettext(
        "there the last time you looked",
        "there the last %(count)s times you looked",
        standing.faulty_run,
    )
    return text % {"count": standing.faulty_run} if standing.faulty_run else ""


def chance(standing: Standing) -> str:
    """How easily the clean run could be luck. Empty without a clean run after a fault."""
    if not (standing.faulty and standing.clean_run):
        return ""
    before = standing.looks - standing.clean_run
    rarity = round(1 / luck(standing.faulty, before, standing.clean_run))
    text = ngettext(
        "if nothing had changed, %(count)s clean look would still happen about 1 time in %(times)s",
        "if nothing had changed, %(count)s clean in a row would still happen about 1 time in"
        " %(times)s",
        standing.clean_run,
    )
    return text % {"count": standing.clean_run, "times": rarity}


def needed(standing: Standing) -> str:
    """How many clean looks make it fixed, and why so many."""
    text = _("%(needed)s clean in a row, over %(days)s days or more")
    said = text % {"needed": standing.needed, "days": CLEAN_SPAN.days}
    if standing.has_returned:
        return _("%(said)s, because it came back once") % {"said": said}
    return said


def disputed(standing: Standing) -> str:
    """Clips left out because two coaches contradict each other. Empty if none."""
    text = ngettext(
        "%(count)s clip is left out: two coaches saw it differently",
        "%(count)s clips are left out: two coaches saw them differently",
        standing.disputed,
    )
    return text % {"count": standing.disputed} if standing.disputed else ""


def not_seen_lately() -> str:
    text = _("not looked at for more than %(days)s days, or in the last %(sessions)s sessions")
    return text % {"days": UNSEEN_AFTER.days, "sessions": UNSEEN_SESSIONS}


def time_to_fix(points: list[Point]) -> str:
    """The median of a curve."""
    looks = median(points)
    if looks is None:
        return _("more than half are still open")
    text = ngettext(
        "half were still open for at least %(count)s look after they had come back",
        "half were still open for at least %(count)s looks after they had come back",
        looks,
    )
    return text % {"count": looks}


def drills(hits: int, of: int, other_hits: int, other_of: int) -> str:
    """Items that got clean with a drill beside those without; never without its warning."""
    counts = {"hits": hits, "of": of, "other": other_hits, "others": other_of}
    said = _("clean in %(hits)s of %(of)s with the drill and in %(other)s of %(others)s without")
    if min(of, other_of) < FEWEST_EACH:
        verdict = _("too few to compare: %(fewest)s on either side are needed")
    elif not is_clear_difference(hits, of, other_hits, other_of):
        verdict = _("no clear difference")
    else:
        low, high = newcombe(hits, of, other_hits, other_of)
        counts |= {"low": round(100 * low), "high": round(100 * high)}
        verdict = _("a difference of %(low)s to %(high)s in 100")
    warning = _("Coaches give drills to the stubborn ones, so this is no proof.")
    return f"{said % counts}: {verdict % {**counts, 'fewest': FEWEST_EACH}}. {warning}"


def pair(table: Table, first: str, second: str) -> str:
    """Two faults by their names, counted and without a claim."""
    text = ngettext(
        "the one swimmer with “%(first)s”: %(both)s also with “%(second)s”",
        "%(both)s of the %(count)s swimmers with “%(first)s” also have “%(second)s”",
        table.first,
    )
    return text % {"both": table.both, "count": table.first, "first": first, "second": second}


def agreement(value: float | None, clips: int) -> str:
    """Cohen's kappa of two coaches over `clips` clips that both have seen."""
    if value is None:
        text = ngettext(
            "%(clips)s clip seen by both: %(fewest)s or more, with both answers, are needed",
            "%(clips)s clips seen by both: %(fewest)s or more, with both answers, are needed",
            clips,
        )
        return text % {"clips": clips, "fewest": FEWEST_SEEN_TWICE}
    text = _(
        "on %(clips)s clips seen by both, agreement beyond chance is %(value)s, where 1 is always"
        " and 0 no more than chance"
    )
    return text % {"clips": clips, "value": f"{value:.2f}"}


def _few(looks: int) -> str:
    text = ngettext(
        "%(looks)s look is too few for a band: it takes %(fewest)s",
        "%(looks)s looks are too few for a band: it takes %(fewest)s",
        looks,
    )
    return text % {"looks": looks, "fewest": FEWEST_FOR_BAND}


def _tenths(found: Band) -> dict[str, int]:
    """Outwards: a rough band must not look better than it is."""
    return {"low": floor(10 * found.low), "high": ceil(10 * found.high)}
