"""What the marks of a clip say, as lines to read: the figure, how far it may be off, and in one
sentence what it is. Nothing is judged here. Sums stand in `technique.measuring`."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from portal.review.models import Mark
from portal.technique import measuring
from portal.technique.measuring import Figure, Interval, NoFigure

Kind = Mark.Kind
TO_THE_WALL = (Kind.COMING, Kind.TOUCH, Kind.LEFT)
FROM_THE_WALL = (Kind.LEFT, Kind.PULL, Kind.DOLPHIN, Kind.KICK, Kind.BREAKOUT, Kind.GOING)


TINY = 1e-9
"""What floating numbers may add to a whole one."""


@dataclass(frozen=True)
class Moment:
    """A mark in its film's time."""

    kind: str
    frame: int
    seconds: float
    gap: float
    """Seconds to the next frame, on the side where it is farther."""
    number: float = 0


@dataclass(frozen=True)
class Told:
    name: str
    value: str
    error: str
    means: str
    frame: int
    """Where it begins, in the recording's numbers."""


def figures(moments: Sequence[Moment], *, stroke: str) -> list[Told]:
    """All that these marks give. `moments` come in the order of time."""
    told: list[Told] = []
    rates: list[Figure] = []
    for run in _swims(moments):
        told += _stroking(run, stroke, rates)
    speeds: list[Figure] = []
    for wall in _walls(moments):
        told += [*_turning(wall), *_under_water(wall), *_speeds(wall, speeds)]
        told += [*_pulling_out(wall), *_exchanging(wall)]
    if len(rates) == len(speeds) == 1:
        told += _carrying(speeds[0], rates[0], moments[0].frame)
    return sorted(told, key=lambda one: one.frame)


# ---- which marks belong together


def _swims(moments: Sequence[Moment]) -> Iterator[list[Moment]]:
    """Hand entries with no wall between them, two at least."""
    run: list[Moment] = []
    for moment in moments:
        if moment.kind == Kind.ENTRY:
            run.append(moment)
        elif moment.kind in (Kind.TOUCH, Kind.LEFT):
            if len(run) > 1:
                yield run
            run = []
    if len(run) > 1:
        yield run


class Wall(dict[str, list[Moment]]):
    """The marks around one wall, by their kind."""

    def first(self, kind: str) -> Moment | None:
        return next(iter(self.get(kind, [])), None)


def _walls(moments: Sequence[Moment]) -> list[Wall]:
    walls = [Wall()]
    for moment in moments:
        is_next = moment.kind in TO_THE_WALL and any(kind in walls[-1] for kind in FROM_THE_WALL)
        if is_next:
            walls.append(Wall())
        walls[-1].setdefault(moment.kind, []).append(moment)
    return walls


# ---- the lines


def _stroking(run: list[Moment], stroke: str, rates: list[Figure]) -> Iterator[Told]:
    begins, ends = run[0], run[-1]
    cycles = ends.number - begins.number
    name = _("Stroke rate")
    try:
        took = _between(begins, ends)
        rate, each = measuring.stroke_rate(cycles, took), measuring.cycle_time(cycles, took)
    except NoFigure as missing:
        yield _none(name, missing, begins)
        return
    rates.append(rate)
    count = ngettext("%(count)s cycle", "%(count)s cycles", round(cycles)) % {
        "count": f"{cycles:g}"
    }
    one = _cycle_of(stroke)
    means = _("Cycles a minute, over {cycles} from hand entry to hand entry. {one}")
    value = _("{figure} a minute").format(figure=f"{rate.value:.1f}")
    yield Told(
        name, value, _from_to(rate, 1), means.format(cycles=count, one=one), frame=begins.frame
    )
    means = _("How long one of these cycles takes.")
    value = _("{figure} s").format(figure=f"{each.value:.2f}")
    yield Told(_("Cycle time"), value, _from_to(each, 2), means, begins.frame)


def _cycle_of(stroke: str) -> str:
    if stroke not in measuring.ARM_STROKES_A_CYCLE:
        return _("A cycle is two arm strokes in freestyle and backstroke, else one.")
    is_double = measuring.arm_strokes(1, stroke) > 1
    return _("A cycle is two arm strokes.") if is_double else _("A cycle is one stroke.")


def _turning(wall: Wall) -> Iterator[Told]:
    coming, touch, left = map(wall.first, (Kind.COMING, Kind.TOUCH, Kind.LEFT))
    going = wall.get(Kind.GOING, [])
    if coming and touch:
        means = _("From the head at {metres} m to the touch.").format(metres=f"{coming.number:g}")
        yield from _timed(_("To the wall"), coming, touch, means)
    if touch and left:
        means = _("From the touch until the feet leave the wall.")
        yield from _timed(_("On the wall"), touch, left, means)
    if left:
        yield from _away(left, going)
    if coming and touch and going:
        yield from _turn(coming, touch, going[0])


def _away(left: Moment, going: Sequence[Moment]) -> Iterator[Told]:
    for moment in going:
        metres = f"{moment.number:g}"
        means = _("From the feet leaving the wall to the head at {metres} m.").format(metres=metres)
        yield from _timed(_("Wall to {metres} m").format(metres=metres), left, moment, means)


def _turn(coming: Moment, touch: Moment, going: Moment) -> Iterator[Told]:
    means = _("From the head at {before} m before the wall to the head at {after} m after it.")
    metres = {"before": f"{coming.number:g}", "after": f"{going.number:g}"}

    def whole() -> Interval:
        return measuring.turn(_between(coming, touch), _between(touch, going))

    yield from _lasting(_("The turn"), whole, means.format(**metres), coming)


def _under_water(wall: Wall) -> Iterator[Told]:
    left, breakout = wall.first(Kind.LEFT), wall.first(Kind.BREAKOUT)
    if left and breakout:
        means = _("From the feet leaving the wall to the head breaking the surface.")
        yield from _timed(_("Under water"), left, breakout, means)
    kicks = wall.get(Kind.DOLPHIN, [])
    if len(kicks) < 2:
        return
    begins, ends = kicks[0], kicks[-1]
    name = _("Kick rate")
    try:
        rate = measuring.kick_rate(ends.number - begins.number, _between(begins, ends))
    except NoFigure as missing:
        yield _none(name, missing, begins)
        return
    value = _("{figure} a second").format(figure=f"{rate.value:.2f}")
    yield Told(
        name,
        value,
        _from_to(rate, 2),
        _("Kicks a second, from the first to the last marked one."),
        begins.frame,
    )


def _speeds(wall: Wall, speeds: list[Figure]) -> Iterator[Told]:
    """Between neighbouring places of known distance."""
    for kind in (Kind.COMING, Kind.GOING):
        for begins, ends in pairwise(wall.get(kind, [])):
            name = _("Speed")
            try:
                metres = abs(ends.number - begins.number)
                speed = measuring.velocity(metres, _between(begins, ends))
            except NoFigure as missing:
                yield _none(name, missing, begins)
                continue
            speeds.append(speed)
            means = _(
                "From the head at {one} m to the head at {other} m. It is right where these"
                " places are, and where the camera stands square to them."
            ).format(one=f"{begins.number:g}", other=f"{ends.number:g}")
            value = _("{figure} m a second").format(figure=f"{speed.value:.2f}")
            yield Told(name, value, _from_to(speed, 2), means, begins.frame)


def _carrying(speed: Figure, rate: Figure, frame: int) -> Iterator[Told]:
    metres = Figure(
        measuring.distance_per_cycle(speed.value, rate.value),
        measuring.distance_per_cycle(speed.low, rate.high),
        measuring.distance_per_cycle(speed.high, rate.low),
    )
    value = _("{figure} m").format(figure=f"{metres.value:.2f}")
    means = _(
        "How far one cycle carries. Mark speed and strokes over the same stretch of swimming."
    )
    yield Told(_("Distance per cycle"), value, _from_to(metres, 2), means, frame)


def _pulling_out(wall: Wall) -> Iterator[Told]:
    marked = map(wall.first, (Kind.LEFT, Kind.PULL, Kind.KICK, Kind.DOLPHIN))
    left, pull, kick_out, dolphin = marked
    if not (left and pull and kick_out):
        return
    try:
        found = measuring.pullout(
            left.seconds,
            pull.seconds,
            kick_out.seconds,
            gap=max(left.gap, pull.gap, kick_out.gap),
            kick=dolphin.seconds if dolphin else None,
        )
    except NoFigure as missing:
        yield _none(_("The pull-out"), missing, left)
        return
    means = _("From the feet leaving the wall until the arms begin to pull down.")
    yield _took(_("Line held"), found.line, means, left)
    means = _("From the pull-down to the breaststroke kick that ends it.")
    yield _took(_("Pull to kick"), found.pull, means, pull)
    if dolphin and found.kick is not None:
        means = (
            _("After the feet left the wall. The pull-down had begun at this frame.")
            if found.kick_with_pull
            else _("After the feet left the wall. The pull-down had not begun at this frame.")
        )
        yield from _timed(_("Dolphin kick"), left, dolphin, means)


def _exchanging(wall: Wall) -> Iterator[Told]:
    touch, toes = wall.first(Kind.TOUCH), wall.first(Kind.TOES)
    if not (touch and toes):
        return
    gap = measuring.relay_gap(touch.seconds, toes.seconds, gap=max(touch.gap, toes.gap))
    means = _(
        "From the touch until the toes leave the block; less than nothing means that they left"
        " first. It is one camera, not a judge."
    )
    yield _took(_("Take-over"), gap, means, min(touch, toes, key=lambda one: one.seconds))


# ---- how they are written


def _between(begins: Moment, ends: Moment) -> Interval:
    return measuring.interval(begins.seconds, ends.seconds, gap=max(begins.gap, ends.gap))


def _timed(name: str, begins: Moment, ends: Moment, means: str) -> Iterator[Told]:
    yield from _lasting(name, lambda: _between(begins, ends), means, begins)


def _lasting(name: str, find: Callable[[], Interval], means: str, begins: Moment) -> Iterator[Told]:
    try:
        yield _took(name, find(), means, begins)
    except NoFigure as missing:
        yield _none(name, missing, begins)


def _took(name: str, took: Interval, means: str, begins: Moment) -> Told:
    """Thousandths only where the frames know hundredths."""
    places = 2 if took.worst >= 0.01 else 3
    most = _up(took.worst, places)
    value = _("{figure} s").format(figure=f"{took.seconds:.{places}f}")
    return Told(name, value, _("at most {most} s off").format(most=most), means, begins.frame)


def _from_to(figure: Figure, places: int) -> str:
    low = floor(figure.low * 10**places + TINY) / 10**places
    words = _("from {low} to {high}")
    return words.format(low=f"{low:.{places}f}", high=_up(figure.high, places))


def _up(value: float, places: int) -> str:
    """Rounded to the worse side."""
    return f"{ceil(value * 10**places - TINY) / 10**places:.{places}f}"


def _none(name: str, missing: NoFigure, begins: Moment) -> Told:
    return Told(name, "", "", str(missing), begins.frame)
