"""The sentence beside every sign and every number."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from django.utils.formats import date_format
from django.utils.translation import get_language, gettext_lazy, ngettext
from django.utils.translation import gettext as _

from portal.items import explaining
from portal.items.checking import Answered
from portal.kit.signs import Sign
from portal.people.models import Swimmer
from portal.progress.charting import FEWEST_FOR_RATE, Column
from portal.progress.gathering import History, Item
from portal.technique.models import Phase

WORDS = {
    Sign.GOOD: gettext_lazy("good"),
    Sign.BOTH: gettext_lazy("both seen"),
    Sign.WORK_ON: gettext_lazy("work on"),
    Sign.NOT_LEGAL: gettext_lazy("not legal"),
    Sign.NOT_LOOKED_AT: gettext_lazy("not looked at"),
    Sign.GAP: gettext_lazy("gap over 28 days"),
}
MOST_NAMES = 12


def group(item: Item) -> str:
    """Under which heading it stands: what could cost a race first, then the parts of a swim."""
    return _("Race-legal") if item.is_not_legal else str(Phase(item.term.phase).label).capitalize()


def seen(item: Item) -> str:
    """k of n; what was never anything but good is said so."""
    if item.standing.faulty or not item.standing.looks:
        return explaining.seen(item.standing)
    text = ngettext(
        "good in the one session where you looked",
        "good in all %(looks)s sessions where you looked",
        item.standing.looks,
    )
    return text % {"looks": item.standing.looks}


def open_short(count: int) -> str:
    return ngettext("%(count)s open", "%(count)s open", count) % {"count": count}


def session_counts(faulty: int, clean: int) -> str:
    """What one session saw."""
    there = ngettext("%(count)s item was there", "%(count)s items were there", faulty)
    good = ngettext("%(count)s was clean", "%(count)s were clean", clean)
    return f"{there % {'count': faulty}}, {good % {'count': clean}}"


def short(item: Item) -> str:
    """k of n."""
    looks = item.standing.looks
    text = ngettext("%(faulty)s of %(looks)s look", "%(faulty)s of %(looks)s looks", looks)
    return text % {"faulty": item.standing.faulty, "looks": looks}


def status(item: Item) -> str:
    return str(explaining.WORDS[item.standing.state])


def since(item: Item, columns: Sequence[Column]) -> str:
    """What has become of it: clean looks after the last fault, and when anybody looked last."""
    said = []
    if item.standing.faulty and item.standing.clean_run:
        said.append(explaining.run(item.standing))
    back = item.unseen_since
    if 0 < back < len(columns):
        day, newest = columns[-1 - back].date, columns[-1].date
        shown = date_format(day, "j F" if day.year == newest.year else "j F Y")
        said.append(_("not looked at since %(day)s") % {"day": shown})
    return ", ".join(said)


def sentences(item: Item) -> list[str]:
    """All that is known of it, each number in its sentence."""
    standing = item.standing
    said = [
        seen(item),
        explaining.run(standing),
        explaining.chance(standing),
        explaining.needed(standing) if item.is_open else "",
        explaining.not_seen_lately() if item.is_unseen else "",
        explaining.disputed(standing),
    ]
    return [_capital(sentence) for sentence in said if sentence]


def rate(item: Item, answered: Answered) -> str:
    """What the curve says, or why there is none."""
    if item.standing.looks < FEWEST_FOR_RATE:
        return _capital(explaining.band(item.standing)) if item.standing.looks else ""
    if not answered.is_enough:
        text = _(
            "No rate yet: of %(asked)s open items that were asked about before a review went out,"
            " %(answered)s were answered. It takes 7 in 10, else what is good is missing."
        )
        return text % {"asked": answered.asked, "answered": answered.answered}
    return _capital(explaining.recent(item.standing))


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


def still_open(count: int, illegal: int) -> str:
    """How many items are open, and how many of those look not legal."""
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


def open_of(items: Sequence[Item]) -> str:
    return still_open(sum(item.is_open for item in items), sum(item.is_not_legal for item in items))


def looked_at(swimmers: Sequence[tuple[Swimmer, bool]]) -> str:
    """How much of a squad anybody has looked at: what is missing is said, not left out."""
    if not swimmers:
        return _("Nobody swims in this squad today.")
    seen = sum(is_seen for _swimmer, is_seen in swimmers)
    if seen == len(swimmers):
        return ngettext(
            "The one swimmer has a published review.",
            "All %(count)s swimmers have a published review.",
            seen,
        ) % {"count": seen}
    missing = [swimmer.first_name for swimmer, is_seen in swimmers if not is_seen]
    return ngettext(
        "%(seen)s of %(all)s swimmers has a published review; nobody has looked at %(names)s.",
        "%(seen)s of %(all)s swimmers have a published review; nobody has looked at %(names)s.",
        seen,
    ) % {"seen": seen, "all": len(swimmers), "names": names(missing)}


def names(found: Sequence[str]) -> str:
    """A dozen by name; how many more is said."""
    more = len(found) - MOST_NAMES
    listed = ", ".join(found[:MOST_NAMES])
    if more <= 0:
        return listed
    return ngettext("%(names)s and %(more)s more", "%(names)s and %(more)s more", more) % {
        "names": listed,
        "more": more,
    }


def _capital(sentence: str) -> str:
    said = sentence[:1].upper() + sentence[1:]
    return said if said.endswith(".") else f"{said}."
