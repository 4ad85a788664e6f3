"""How a swimmer's items stand over the season, in words for the family.

Three groups and what nobody has looked at; small counts, no share, no rank, no other child. All
of it comes from what was published.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from portal.items.models import ItemSummary, Verdict
from portal.items.needing import not_seen_lately
from portal.items.recurrence import OPEN, State
from portal.kit.signs import Sign
from portal.kit.templatetags.look import sign
from portal.notes import wording
from portal.notes.picturing import pictured, small_still
from portal.notes.reading import SIGNS, WORDS
from portal.notes.wording import Words
from portal.people.access import Actor
from portal.people.models import Swimmer
from portal.recordings.models import Session
from portal.review.models import Comment, Review
from portal.technique.models import Stroke

MOST_SIDE_BY_SIDE = 6
"""Stills of one item: the newest."""
GROUPS = {
    "well": gettext_lazy("Going well"),
    "working": gettext_lazy("Working on"),
    "sorted": gettext_lazy("Looks sorted"),
    "unlooked": gettext_lazy("Not looked at"),
}


@dataclass(frozen=True)
class Point:
    """One item: its good form, its stroke, and how it stands."""

    title: str
    stroke: str
    words: str
    sign: SafeString
    is_news: bool
    """It stands otherwise since the newest notes."""


@dataclass(frozen=True)
class Still:
    address: str
    alt: str
    day: date
    verdict: Verdict

    @property
    def word(self) -> str:
        return str(WORDS[self.verdict])

    @property
    def sign(self) -> SafeString:
        return sign(SIGNS[self.verdict], 16)


@dataclass(frozen=True)
class Row:
    """Stills of one item, the oldest first."""

    title: str
    stroke: str
    stills: list[Still]


@dataclass(frozen=True)
class Season:
    newest: Session | None
    """With notes."""
    groups: list[tuple[str, list[Point]]]
    rows: list[Row]

    has_unlooked: bool

    @property
    def news(self) -> list[Point]:
        return [point for _word, points in self.groups for point in points if point.is_news]


def season(swimmer: Swimmer, *, reader: Actor, on: date) -> Season:
    """Six queries, and three for each squad that the pictures are of."""
    notes = Review.objects.published().visible_to(reader).filter(swimmer=swimmer)
    reviews = list(notes.select_related("session").order_by("-session__date", "-session_id"))
    newest = reviews[0].session if reviews else None
    summaries = ItemSummary.objects.filter(swimmer=swimmer)
    items = sorted(summaries.select_related("checkpoint", "fault"), key=_place)
    shaky = [item for item in items if State(item.state) in OPEN]
    unlooked = {item.pk for item in not_seen_lately(swimmer, shaky, on=on)}
    words = wording.words(swimmer.club_id)
    groups: dict[str, list[Point]] = {name: [] for name in GROUPS}
    for item in _each_once(items):
        group = "unlooked" if item.pk in unlooked else _group(State(item.state))
        groups[group].append(_point(item, group, newest, words))
    told = [(str(GROUPS[name]), points) for name, points in groups.items() if points]
    rows = _rows(pictured(reviews, reader=reader), words)
    return Season(newest, told, rows, has_unlooked=bool(unlooked))


def _place(item: ItemSummary) -> tuple[bool, int, str, int, int]:
    """What looks not legal first, then the others in the order of the catalogue."""
    order = item.fault.order if item.fault else 0
    state = State(item.state)
    need = OPEN.index(state) if state in OPEN else len(OPEN)
    return not item.was_not_legal, need, item.stroke, item.checkpoint.order, order


def _each_once(items: Iterable[ItemSummary]) -> Iterable[ItemSummary]:
    """Of what is good, a checkpoint once: its faults are no news where there are none."""
    seen = set()
    for item in items:
        key = item.stroke, item.checkpoint_id
        if item.state == State.GOOD and key in seen:
            continue
        seen.add(key)
        yield item


def _group(state: State) -> str:
    return {State.GOOD: "well", State.FIXED: "sorted"}.get(state, "working")


def _point(item: ItemSummary, group: str, newest: Session | None, words: Words) -> Point:
    return Point(
        title=words.title(item.checkpoint_id, None),
        stroke=str(Stroke(item.stroke).label),
        words=_unlooked(item) if group == "unlooked" else _words(item),
        sign=sign(_sign(item, group), 20),
        is_news=newest is not None and item.last_session == newest.pk and _is_news(item),
    )


def _sign(item: ItemSummary, group: str) -> Sign:
    if group == "unlooked":
        return Sign.NOT_LOOKED_AT
    if group != "working":
        return Sign.GOOD
    return Sign.NOT_LEGAL if item.was_not_legal else Sign.WORK_ON


def _is_news(item: ItemSummary) -> bool:
    """Seen for the first time, back, sorted with this very look, or good for the first time."""
    state = State(item.state)
    if state in (State.NEW, State.GOOD):
        return item.looks == 1
    if state == State.FIXED:
        return item.clean_run == item.needed
    return state == State.RETURNED and item.faulty_run == 1


def _words(item: ItemSummary) -> str:
    state = State(item.state)
    if state == State.GOOD:
        text = ngettext("Seen once.", "Good all %(count)s times.", item.looks)
        return text % {"count": item.looks}
    if state == State.FIXED:
        text = ngettext("Clean the last time.", "Clean the last %(count)s times.", item.clean_run)
        return text % {"count": item.clean_run}
    first = {
        State.NEW: _("New."),
        State.IMPROVING: _("Getting better."),
        State.RETURNED: _("Back on the list."),
    }.get(state, "")
    counts = {"faulty": item.faulty, "looks": item.looks}
    count = _("Seen in %(faulty)s of %(looks)s looks.") % counts if item.looks > 1 else ""
    warning = _("Looks not legal on one view.") if item.was_not_legal else ""
    return " ".join(part for part in [first, warning, count] if part)


def _unlooked(item: ItemSummary) -> str:
    if item.last_look is None:
        return _("Nobody has looked yet.")
    day = date_format(item.last_look, "MONTH_DAY_FORMAT")
    return _("Nobody has looked since %(day)s, so we can’t say.") % {"day": day}


def _rows(comments: Iterable[Comment], words: Words) -> list[Row]:
    """Items with stills of two sessions or more, the newest first."""
    stills: dict[tuple[str, str], dict[int, Still]] = defaultdict(dict)
    for comment in comments:
        if comment.clip is None:
            continue
        stroke = str(Stroke(comment.clip.stroke).label)
        verdict = Verdict(comment.verdict)
        day, title = comment.session.date, words.title(comment.checkpoint_id, comment.fault_id)
        stills[title, stroke][comment.session_id] = Still(
            address=small_still(comment.code),
            alt=_("%(title)s on %(day)s: %(word)s")
            % {"title": title, "day": date_format(day), "word": WORDS[verdict]},
            day=day,
            verdict=verdict,
        )
    rows = [
        Row(title, stroke, list(each.values())[-MOST_SIDE_BY_SIDE:])
        for (title, stroke), each in stills.items()
        if len(each) > 1
    ]
    return sorted(rows, key=lambda row: row.stills[-1].day, reverse=True)
