"""Drawings read in and painted: on stills with Pillow, in pages as SVG."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, pgettext
from PIL import Image, ImageDraw, ImageFont

from portal.review import chalk
from portal.review.chalk import Drawing, Letters, Line, Malformed, Painted, Point

# Painted so many times larger, and reduced: on large pictures four are as fine, and cost less.
FINE, COARSE, LARGE = 8, 4, 720
WEIGHT = 600
LATIN, LATIN_EXT = "literata-latin-wght-normal.woff2", "literata-latin-ext-wght-normal.woff2"
CLOTH_EDGE = 3


class NoDrawing(ValueError):
    """What was sent is no drawing; the message says why, in the reader's language."""


def read(sent: object) -> dict[str, Any] | None:
    """The drawing as it is kept; nothing for nothing. Raises NoDrawing."""
    if sent is None:
        return None
    try:
        return chalk.read(sent).as_json()
    except Malformed as malformed:
        raise NoDrawing(_words()[malformed.what] % malformed.values) from malformed


def kept(stored: dict[str, Any] | None) -> Drawing | None:
    return None if stored is None else chalk.read(stored)


def _words() -> dict[str, str]:
    return {
        "schema": _("“%(found)s” is a drawing that we cannot read. We read %(known)s."),
        "shapes": _(
            "A drawing has at least one shape and at most %(most)s; this one has %(found)s."
            " Take some away."
        ),
        "points": _(
            "A drawing has at most %(most)s points; this one has %(found)s."
            " Take a free stroke away."
        ),
        "bytes": _("The drawing takes %(found)s bytes; %(most)s are the most. Take shapes away."),
        "object": _("“%(found)s” is no drawing (%(where)s). Load the page again."),
        "fields": _(
            "The drawing lacks or has too much: %(found)s (%(where)s). Load the page again."
        ),
        "kind": _("Shape %(place)s is “%(found)s”. We know %(known)s."),
        "count": _("Shape %(place)s, %(kind)s, has %(found)s points. It needs %(allowed)s."),
        "point": _("“%(found)s” is no point of the frame. It needs two numbers."),
        "number": _("“%(found)s” is out of place (%(name)s): it lies from %(low)s to %(high)s."),
        "letters": _("Words on a frame have 1 to %(most)s letters; these have %(found)s."),
        "letter": _("“%(found)s” cannot be written on a frame. Choose another letter."),
        "leg": _("Shape %(place)s is an angle without a leg. Set its three points apart."),
    }


def phrases() -> dict[str, Any]:
    """What the drawing board says; braces are filled in by its scripts."""
    return {
        "board": _("Drawing board on the frame"),
        "tools": {
            "line": _("line"),
            "arrow": _("arrow"),
            "free": pgettext("of a hand that draws", "stroke"),
            "ellipse": _("ring"),
            "angle": _("angle"),
            "text": _("words"),
        },
        "hints": {
            "none": _("Draw on the frame that stands there: take a tool."),
            "line": _("Line: drag, or tap where it begins and where it ends."),
            "arrow": _("Arrow: drag, or tap where it begins and where it points."),
            "free": _("Stroke: draw it, or tap from bend to bend and tap the last one twice."),
            "ellipse": _("Ring: drag, or tap two corners of the box around it."),
            "angle": _(
                "Angle: tap the end of one leg, where they meet, and the other end. It is measured"
                " as the camera sees it."
            ),
            "text": _("Words: tap where they begin."),
            "move": _("Move: drag a shape or its points, or tap it and tap where it goes."),
        },
        "isDrawn": _("{shape}. Shapes on the frame: {count}."),
        "isChanged": _("Shapes on the frame: {count}."),
        "crosshair": _("{x} across, {y} down"),
        "nothing": _("Too small to be seen: set its points further apart."),
        "leftOut": _("What our letters cannot write was left out."),
        "unsure": _(
            "This angle may be off by {spread}°: its legs are short. Draw the picture near, or use"
            " longer legs."
        ),
        "full": {
            "shapes": _("A frame takes {most} shapes. Rub one out first."),
            "points": _("The strokes on this frame are too long. Rub one out first."),
        },
    }


# ---- as SVG, the same that svg.js makes


def as_svg(stored: dict[str, Any]) -> dict[str, Any]:
    """What the template kit/_chalk.html writes down; numbers as text, in no reader's language."""
    drawn = chalk.read(stored)
    return {
        "wide": _number(drawn.aspect * chalk.HIGH),
        "said": said(drawn),
        "ink": {
            "chalk": chalk.CHALK,
            "casing": chalk.CASING,
            "cloth": chalk.CLOTH,
            "edge": chalk.CLOTH_EDGE,
            "figure": chalk.FIGURE,
        },
        "parts": [_svg(parts) for parts in chalk.painted(drawn)],
    }


def said(drawn: Drawing) -> str:
    """For whoever does not see it: words and angles as they stand there, the rest counted."""
    own = [shape.words for shape in drawn.shapes if shape.words]
    own += [chalk.figure(shape, drawn.aspect) for shape in drawn.shapes if shape.kind == "angle"]
    count = ngettext("Drawing of one shape", "Drawing of %(count)s shapes", len(drawn.shapes))
    return ": ".join(filter(None, [count % {"count": len(drawn.shapes)}, ", ".join(own)]))


def _svg(parts: Painted) -> dict[str, Any]:
    return {
        "casings": [_line(line, 2 * parts.casing) for line in parts.lines],
        "lines": [_line(line, 0) for line in parts.lines],
        "head": _list(parts.head),
        "head_casing": _number(2 * parts.casing),
        "letters": _letters(parts.letters),
        "scrap": _list(parts.scrap),
        "figure": _letters(parts.figure),
    }


def _line(line: Line, more: float) -> dict[str, str]:
    return {"points": _list(line.points), "width": _number(line.width + more)}


def _letters(letters: Letters | None) -> dict[str, str]:
    if letters is None:
        return {}
    (x, y), size = letters.at, letters.size
    casing = _number(2 * chalk.LETTER_CASING * size)
    place = {"x": _number(x), "y": _number(y), "size": _number(size), "casing": casing}
    return {"words": letters.words, **place}


def _list(points: Iterable[Point]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in points)


def _number(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")


# ---- painting on a picture


def paint(picture: Image.Image, drawing: Drawing) -> None:
    """Lay it over an RGB picture of the whole frame, whatever its size."""
    unit = picture.height / chalk.HIGH
    across = picture.width / (drawing.aspect * picture.height)
    for parts in chalk.painted(drawing):
        _Pen(picture, unit, across).paint(parts)


class _Pen:
    """Paints many times larger, in a box around what it paints, and takes the mean."""

    def __init__(self, picture: Image.Image, unit: float, across: float) -> None:
        self.picture, self.unit = picture, unit
        # A picture that was cut to whole pixels is a trace wider or narrower than its frame.
        self.scale = (unit * across, unit)
        self.smooth = COARSE if picture.height > LARGE else FINE

    def paint(self, parts: Painted) -> None:
        if parts.lines:
            for casing, ink in ((parts.casing, chalk.CASING), (0.0, chalk.CHALK)):
                mask, corner = self._mask(parts)
                self._trace(mask, corner, parts, casing)
                self._lay(mask, corner, ink)
        if parts.letters:
            casing = chalk.LETTER_CASING * parts.letters.size
            self._write(parts.letters, chalk.CASING, casing)
            self._write(parts.letters, chalk.CHALK, 0)
        if parts.scrap:
            mask, corner = self._mask(parts)
            edge = [*parts.scrap, parts.scrap[0]]
            self._polyline(mask, corner, edge, CLOTH_EDGE)
            self._lay(mask, corner, chalk.CLOTH_EDGE)
            # The edge is painted over the cloth, as in a page: its inner half stays.
            mask, corner = self._mask(parts)
            self._polygon(mask, corner, parts.scrap)
            inner, _corner = self._mask(parts)
            self._polyline(inner, corner, edge, CLOTH_EDGE)
            mask.paste(0, mask=inner)
            self._lay(mask, corner, chalk.CLOTH)
        if parts.figure:
            self._write(parts.figure, chalk.FIGURE, 0)

    def _mask(self, parts: Painted) -> tuple[Image.Image, tuple[int, int]]:
        left, top, right, bottom = chalk.bounds(parts)
        across, down = self.scale
        return self._box(left * across, top * down, right * across, bottom * down)

    def _box(
        self, left: float, top: float, right: float, bottom: float
    ) -> tuple[Image.Image, tuple[int, int]]:
        """A mask for what lies between, in pixels, with one to spare; never beyond the picture."""
        x, y = max(0, math.floor(left) - 1), max(0, math.floor(top) - 1)
        end = min(self.picture.width, math.ceil(right) + 1)
        low = min(self.picture.height, math.ceil(bottom) + 1)
        size = (max(1, end - x) * self.smooth, max(1, low - y) * self.smooth)
        return Image.new("L", size), (x, y)

    def _lay(self, mask: Image.Image, corner: tuple[int, int], ink: str) -> None:
        small = mask.reduce(self.smooth)
        self.picture.paste(ink, (*corner, corner[0] + small.width, corner[1] + small.height), small)

    def _at(self, point: Point, corner: tuple[int, int]) -> Point:
        (x, y), (across, down) = point, self.scale
        return (x * across - corner[0]) * self.smooth, (y * down - corner[1]) * self.smooth

    def _trace(
        self, mask: Image.Image, corner: tuple[int, int], parts: Painted, casing: float
    ) -> None:
        for line in parts.lines:
            self._polyline(mask, corner, line.points, line.width + 2 * casing)
        if parts.head:
            self._polygon(mask, corner, parts.head)
            if casing:
                self._polyline(mask, corner, [*parts.head, parts.head[0]], 2 * casing)

    def _polyline(
        self, mask: Image.Image, corner: tuple[int, int], points: Iterable[Point], width: float
    ) -> None:
        """With round ends and corners."""
        pen = ImageDraw.Draw(mask)
        half = width * self.unit * self.smooth / 2
        # Pillow counts the pixels on both edges of what it fills; a page goes from edge to edge.
        places = [self._at(point, corner) for point in points]
        for x, y in places:
            pen.ellipse((x - half, y - half, x + half - 1, y + half - 1), fill=255)
        for (ax, ay), (bx, by) in pairwise(places):
            long = math.hypot(bx - ax, by - ay)
            if long:
                side = (half - 0.25) / long
                ox, oy = -(by - ay) * side, (bx - ax) * side
                quad = [(ax + ox, ay + oy), (bx + ox, by + oy), (bx - ox, by - oy)]
                _fill(pen, [*quad, (ax - ox, ay - oy)])

    def _polygon(self, mask: Image.Image, corner: tuple[int, int], points: Iterable[Point]) -> None:
        _fill(ImageDraw.Draw(mask), [self._at(point, corner) for point in points])

    def _write(self, letters: Letters, ink: str, casing: float) -> None:
        """Letter by letter: a page is told to set them without kerning, too."""
        size = letters.size * self.unit * self.smooth
        fonts = {name: _font(name, size) for name in (LATIN, LATIN_EXT)}
        widths = [fonts[file_of(letter)].getlength(letter) for letter in letters.words]
        x, y = letters.at[0] * self.scale[0], letters.at[1] * self.scale[1]
        wide, high, more = sum(widths) / self.smooth, letters.size * self.unit, casing * self.unit
        mask, corner = self._box(x - high, y - 1.2 * high, x + wide + high, y + 0.5 * high)
        pen = ImageDraw.Draw(mask)
        at = (x - corner[0]) * self.smooth
        for letter, width in zip(letters.words, widths, strict=True):
            place, font = (at, (y - corner[1]) * self.smooth), fonts[file_of(letter)]
            pen.text(place, letter, 255, font, anchor="ls", stroke_width=more * self.smooth)
            at += width
        self._lay(mask, corner, ink)


def _fill(pen: ImageDraw.ImageDraw, points: Iterable[Point]) -> None:
    pen.polygon([(round(x - 0.5), round(y - 0.5)) for x, y in points], fill=255)


def file_of(letter: str) -> str:
    return LATIN if letter < "\u0100" or letter > "\u2000" or letter in "ıŒœ" else LATIN_EXT


@lru_cache(maxsize=32)
def _font(name: str, size: float) -> ImageFont.FreeTypeFont:
    path = settings.BASE_DIR / "static" / "fonts" / name
    font = ImageFont.truetype(path, size, layout_engine=ImageFont.Layout.BASIC)
    font.set_variation_by_axes([WEIGHT])
    return font
