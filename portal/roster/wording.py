"""What people read about a list, its faults, and what stands in the way of taking it over."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from portal.people.models import Swimmer
from portal.roster.parsing import MOST_LINES, Column, Fault, Line, Trouble, Unreadable

COLUMNS: dict[Column, str | Promise] = {
    Column.FIRST: gettext_lazy("first name"),
    Column.LAST: gettext_lazy("last name"),
    Column.BORN: gettext_lazy("born"),
    Column.SQUAD: gettext_lazy("squad"),
    Column.NAME_1: gettext_lazy("guardian 1 name"),
    Column.ADDRESS_1: gettext_lazy("guardian 1 address"),
    Column.NAME_2: gettext_lazy("guardian 2 name"),
    Column.ADDRESS_2: gettext_lazy("guardian 2 address"),
}

FAULTS: dict[Fault, str | Promise] = {
    Fault.MISSING: gettext_lazy("%(column)s is missing. Write it in."),
    Fault.TOO_LONG: gettext_lazy("%(column)s is too long. Shorten it."),
    Fault.NO_DATE: gettext_lazy("“%(born)s” is no date. Write it as 2012-05-03 or 3.5.2012."),
    Fault.TWO_DATES: gettext_lazy(
        "“%(born)s” can be two dates. Say above whether the day or the month comes first."
    ),
    Fault.NOT_YET: gettext_lazy("“%(born)s” is not in the past. Look at the year again."),
    Fault.LONG_AGO: gettext_lazy("“%(born)s” is over 100 years ago. Look at the year again."),
    Fault.NO_ADDRESS: gettext_lazy(
        "%(column)s is not a whole address. It looks like name@example.org."
    ),
    Fault.SAME_ADDRESS: gettext_lazy(
        "Both guardians have the same address. Each needs their own, so that each is asked."
    ),
    Fault.TWICE: gettext_lazy("This swimmer stands further up already. Take one line out."),
    Fault.MORE_CELLS: gettext_lazy(
        "This line has more cells than the first one names. Look for a comma within a name."
    ),
}

TROUBLES: dict[Trouble, str | Promise] = {
    Trouble.EMPTY: gettext_lazy("There is no list yet. Paste it here, or choose its file."),
    Trouble.NO_TEXT: gettext_lazy(
        "This file is not text. In your spreadsheet, save it as CSV, then choose that file."
    ),
    Trouble.NO_COLUMNS: gettext_lazy(
        "The first line has to name the columns; not found: %(columns)s."
    ),
    Trouble.COLUMN_TWICE: gettext_lazy(
        "Two columns mean the same: %(columns)s. Take one out, or name it otherwise."
    ),
    Trouble.TOO_LONG: gettext_lazy(
        "The list is too long: at most %(most)s swimmers at a time. Cut it in two."
    ),
}


def unreadable(error: Unreadable) -> str:
    named = ", ".join(str(COLUMNS[column]) for column in error.columns)
    return str(TROUBLES[error.trouble]) % {"columns": named, "most": MOST_LINES}


def faults(line: Line) -> list[str]:
    """In words, each with what to do."""
    return [
        _sentence(str(FAULTS[fault]) % {"column": str(COLUMNS[column]), "born": line.born_as_typed})
        for column, fault in line.faults
    ]


def no_such_squad(name: str, known: Sequence[str]) -> str:
    return _("The club has no squad “%(name)s”. It has: %(known)s.") % {
        "name": name,
        "known": ", ".join(known),
    }


def another_birthday(namesake: Swimmer) -> str:
    return _(
        "The club has %(name)s, born %(born)s. If this is the same child, correct the date on their"
        " page first. If it is another child of that name, add them with the form."
    ) % {"name": namesake.name, "born": namesake.born.isoformat()}


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
