"""The sentence beside every sign and every number."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache

from django.utils.formats import date_format
from django.utils.translation import get_language, gettext_lazy, ngettext
from django.utils.translation import gettext as _

from portal.kit.signs import Sign
from portal.progress.charting import CLEAN_TO_CLOSE, Column, Need, Row
from portal.progress.gathering import History, Item

WORDS = {
    Sign.GOOD: gettext_lazy("good"),
    Sign.BOTH: gettext_lazy("both seen"),
    Sign.WORK_ON: gettext_lazy("work on"),
    Sign.NOT_LEGAL: gettext_lazy("not legal"),
    Sign.NOT_LOOKED_AT: gettext_lazy("not looked at"),
    Sign.GAP: gettext_lazy("gap over 28 days"),
}


def heading(need: Need) -> str:
    """What a group of items has in common."""
    return {
        Need.NOT_LEGAL: _("Looks not legal"),
        Need.OPEN: _("Open"),
        Need.CLEAN: _("Clean in the last %(count)s looks") % {"count": CLEAN_TO_CLOSE},
        Need.GOOD: _("Good whenever you looked"),
    }[need]


def seen(row: Row) -> str:
    """k of n, where n counts looks only."""
    if row.faulty:
        text = ngettext(
            "seen in the one session where you looked",
            "seen in %(faulty)s of the %(looks)s sessions where you looked",
            row.looks,
        )
    else:
        text = ngettext(
            "good in the one session where you looked",
            "good in all %(looks)s sessions where you looked",
            row.looks,
        )
    return text % {"faulty": row.faulty, "looks": row.looks}


def since(row: Row, columns: Sequence[Column]) -> str:
    """What has become of it: clean looks after the last fault, and when anybody looked last."""
    said = []
    if row.faulty and row.clean_run:
        text = ngettext(
            "clean the last time you looked",
            "clean the last %(count)s times you looked",
            row.clean_run,
        )
        said.append(text % {"count": row.clean_run})
    if row.unseen_since:
        day, newest = columns[-1 - row.unseen_since].date, columns[-1].date
        shown = date_format(day, "j F" if day.year == newest.year else "j F Y")
        said.append(_("not looked at since %(day)s") % {"day": shown})
    return ", ".join(said)


def signs(newest: Sequence[Sign]) -> str:
    """A short row of signs for somebody who does not see them."""
    return _("oldest first: %(signs)s") % {"signs": ", ".join(map(word, newest))}


def word(sign: Sign) -> str:
    return _words(get_language())[sign]


@cache
def _words(_language: str | None) -> dict[Sign, str]:
    """Looked up once: a squad's page has more than a thousand signs."""
    return {sign: str(said) for sign, said in WORDS.items()}


def sessions(history: History) -> str:
    """How often somebody looked at this swimmer, and since when."""
    if not history.columns:
        return _("No review of %(name)s is out yet: nobody has looked.") % {
            "name": history.swimmer.first_name
        }
    text = ngettext(
        "One session with published notes, on %(day)s.",
        "%(count)s sessions with published notes since %(day)s.",
        len(history.columns),
    )
    day = date_format(history.columns[0].date, "j F Y")
    return text % {"count": len(history.columns), "day": day}


def still_open(items: Collection[Item]) -> str:
    """How many of these are open, and how many of those look not legal."""
    count = sum(item.row.need <= Need.OPEN for item in items)
    illegal = sum(item.row.need == Need.NOT_LEGAL for item in items)
    if not count:
        return _("nothing open")
    said = ngettext("%(count)s item is open", "%(count)s items are open", count) % {"count": count}
    if not illegal:
        return said
    if count == illegal:
        more = ngettext("it looks not legal", "they look not legal", count)
        return _("%(open)s: %(more)s") % {"open": said, "more": more}
    more = ngettext("%(count)s looks not legal", "%(count)s look not legal", illegal)
    return _("%(open)s, %(more)s") % {"open": said, "more": more % {"count": illegal}}


def looked_at(histories: Sequence[History]) -> str:
    """How much of a squad anybody has looked at: what is missing is said, not left out."""
    if not histories:
        return _("Nobody swims in this squad today.")
    seen = sum(bool(each.columns) for each in histories)
    if seen == len(histories):
        return ngettext(
            "The one swimmer has a published review.",
            "All %(count)s swimmers have a published review.",
            seen,
        ) % {"count": seen}
    missing = [each.swimmer.first_name for each in histories if not each.columns]
    return ngettext(
        "%(seen)s of %(all)s swimmers has a published review; nobody has looked at %(names)s.",
        "%(seen)s of %(all)s swimmers have a published review; nobody has looked at %(names)s.",
        seen,
    ) % {"seen": seen, "all": len(histories), "names": ", ".join(missing)}
