"""The bench's keys for the film, as its list of keys shows them; they are bound by
player/commands.js, bench/beside.js and bench/marks.js."""

from __future__ import annotations

from typing import TypedDict

from django.utils.translation import gettext as _


class Key(TypedDict):
    keys: list[str]
    says: str


def film_keys() -> list[Key]:
    return [
        {"keys": ["←", "→"], "says": _("one frame")},
        {"keys": ["Shift", "← →"], "says": _("ten frames")},
        {"keys": [_("Space")], "says": _("play and stop")},
        {"keys": ["J", "K", "L"], "says": _("back, stop, on; again is faster")},
        {"keys": ["Shift", "↑ ↓"], "says": _("faster, slower")},
        {"keys": ["I", "O"], "says": _("a loop begins, ends here")},
        {"keys": ["R"], "says": _("loop around this moment, and off")},
        {"keys": ["+", "−", "0"], "says": _("nearer, farther, the whole picture")},
        {"keys": ["Ctrl"], "says": _("with the wheel: nearer, farther")},
        {"keys": ["Alt", "← → ↑ ↓"], "says": _("move what is near")},
        {"keys": ["F"], "says": _("full screen")},
    ]


def beside_keys() -> list[Key]:
    return [
        {"keys": ["B"], "says": _("the last clip beside it")},
        {"keys": ["<", ">"], "says": _("that clip alone, one frame")},
        {"keys": ["T"], "says": _("timing")},
        {"keys": ["1 … 9"], "says": _("in timing: what happens here")},
        {"keys": ["Z"], "says": _("in timing: undo")},
    ]
