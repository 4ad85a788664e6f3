"""The sentence beside every number of a squad's page."""

from __future__ import annotations

from datetime import timedelta

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.items import explaining
from portal.items.outlasting import FEWEST_FIXES, FEWEST_SWIMMERS
from portal.items.pairing import Table
from portal.progress.mustering import Filmed, Fixes, Theme, Trials
from portal.progress.phrasing import names
from portal.progress.tallying import TAKEN_WITHIN, TO_BE_CLEAN, Cohort, Trial


def prevalence(theme: Theme) -> str:
    """From those who have it to those who might, out of all: no model, and nobody left out."""
    bar = theme.bar
    text = ngettext(
        "active for %(active)s of the %(seen)s swimmer looked at",
        "active for %(active)s of the %(seen)s swimmers looked at",
        bar.looked_at,
    )
    said = text % {"active": len(bar.active), "seen": bar.looked_at}
    if not bar.unseen:
        return _("%(said)s: the whole squad of %(total)s") % {"said": said, "total": bar.total}
    more = _(
        "%(said)s; with the %(unseen)s nobody looked at it is %(low)s to %(high)s of %(total)s"
    )
    return more % {
        "said": said,
        "unseen": bar.unseen,
        "low": len(bar.active),
        "high": len(bar.active) + bar.unseen,
        "total": bar.total,
    }


def who(theme: Theme) -> str:
    return names([swimmer.first_name for swimmer in theme.active])


def cohort(found: Cohort) -> str:
    text = _(
        "of the %(swimmers)s looked at in the last four weeks and in the four before, it was there"
        " for %(before)s then and for %(after)s now"
    )
    return text % found._asdict()


def silence(since: timedelta | None) -> str:
    if since is None:
        return _("no review is out yet")
    text = ngettext(
        "the last review is %(days)s day old", "the last review is %(days)s days old", since.days
    )
    return text % {"days": since.days}


def usual(median: timedelta | None) -> str:
    if median is None:
        return _("No review of this squad is out yet.")
    text = ngettext(
        "For half of the squad the last review is at most %(days)s day old. Listed is who waited"
        " more than 28 days, or more than twice as long.",
        "For half of the squad the last review is at most %(days)s days old. Listed is who waited"
        " more than 28 days, or more than twice as long.",
        median.days,
    )
    return text % {"days": median.days}


def filmed(found: Filmed) -> str:
    return _("filmed on %(day)s, and no review of it is out") % {
        "day": date_format(found.day, "j F")
    }


def fixes(found: Fixes) -> str:
    """Nothing below ten fixes of five swimmers."""
    counts = {
        "fixed": found.fixed,
        "episodes": found.episodes,
        "swimmers": found.swimmers,
        "fewest": FEWEST_FIXES,
        "fewest_swimmers": FEWEST_SWIMMERS,
    }
    if not found.may_be_told:
        text = _(
            "Too few to say how long it takes: of %(episodes)s items that kept coming back"
            " %(fixed)s look sorted, of %(swimmers)s swimmers. It takes %(fewest)s of them, of"
            " %(fewest_swimmers)s swimmers."
        )
        return text % counts
    text = _(
        "Of %(episodes)s items that kept coming back %(fixed)s look sorted: %(median)s. Who stops"
        " being filmed is missing here, so it may take longer."
    )
    return text % {**counts, "median": explaining.time_to_fix(found.points)}


def trials(found: Trials) -> str:
    """With any drill beside without."""
    return _first(explaining.drills(*found.pooled, *found.without)) + " " + _rule()


def trial(name: str, found: Trial) -> str:
    text = ngettext(
        "%(drill)s: clean for %(clean)s of the %(of)s item it was given for",
        "%(drill)s: clean for %(clean)s of the %(of)s items it was given for",
        found.of,
    )
    return text % {"drill": name, "clean": found.clean, "of": found.of}


def pair(table: Table, first: str, second: str) -> str:
    return _first(explaining.pair(table, first, second)) + "."


def agreement(one: str, other: str, clips: int, value: float | None) -> str:
    said = explaining.agreement(value, clips)
    return _("%(one)s and %(other)s: %(said)s.") % {"one": one, "other": other, "said": said}


def disputed(count: int) -> str:
    text = ngettext(
        "%(count)s verdict counts for nothing until somebody settles it: two coaches saw one clip"
        " differently.",
        "%(count)s verdicts count for nothing until somebody settles them: two coaches saw one"
        " clip differently.",
        count,
    )
    return text % {"count": count}


def _rule() -> str:
    text = _("Clean means %(run)s clean looks in a row within the next %(within)s.")
    return text % {"run": TO_BE_CLEAN, "within": TAKEN_WITHIN}


def _first(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
