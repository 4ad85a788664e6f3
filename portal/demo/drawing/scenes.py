"""What is drawn: the demo's clips, from `clips.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from portal.demo.drawing import breaststroke, freestyle, turning
from portal.demo.drawing.breaststroke import Breaststroke
from portal.demo.drawing.freestyle import Freestyle
from portal.demo.drawing.lens import Rail, View
from portal.demo.drawing.moves import Move
from portal.demo.drawing.outfit import Outfit
from portal.demo.drawing.turning import Turn

CLIPS = Path(__file__).parent / "clips.toml"
How = Breaststroke | Freestyle | Turn
MOVES: dict[str, type[How]] = {"breast": Breaststroke, "free": Freestyle, "turn": Turn}


class BadClips(Exception):
    """The file of clips cannot be used, or does not have what was asked for."""


@dataclass(frozen=True, kw_only=True)
class Scene:
    """One swimmer filmed once."""

    name: str
    how: How
    seconds: float
    start: float = 3.0
    """Metres from the wall at frame 0; a turn starts from where its touch says."""
    lead: float = 0.0
    """Seconds into the stroke at frame 0; of gliding in before a turn."""
    view: View = View.SIDE
    rail: Rail = field(default_factory=Rail)
    outfit: Outfit = field(default_factory=Outfit)

    def move(self, rate: int) -> Move:
        """At `rate` frames a second."""
        seconds = self.seconds
        match self.how:
            case Turn():
                return turning.swum(self.how, seconds=seconds, rate=rate, lead=self.lead)
            case Freestyle():
                return freestyle.swum(self.how, seconds=seconds, rate=rate, start=self.start)
            case Breaststroke():
                return breaststroke.swum(
                    self.how, seconds=seconds, rate=rate, start=self.start, lead=self.lead
                )


def read(path: Path = CLIPS) -> dict[str, Scene]:
    """By name, in the order of the file. Raises BadClips."""
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    outfits = {name: _outfit(name, colours) for name, colours in content["outfit"].items()}
    scenes = [_scene(raw, outfits) for raw in content["clip"]]
    return {scene.name: scene for scene in scenes}


def pick(names: list[str], scenes: Mapping[str, Scene]) -> list[Scene]:
    """Those with the given names, or all if none is given. Raises BadClips."""
    for name in names:
        _known(name, scenes, what="clip")
    return [scene for name, scene in scenes.items() if name in names or not names]


def _outfit(name: str, colours: Mapping[str, list[int]]) -> Outfit:
    parts = [part.name for part in fields(Outfit)]
    for part, colour in colours.items():
        if part not in parts:
            raise BadClips(f"Outfit {name!r}: unknown colour {part!r}. Known: {', '.join(parts)}.")
        if len(colour) != 3:
            raise BadClips(f"Outfit {name!r}: {part} is {colour!r}. Write red, green and blue.")
    return Outfit(**{part: (r, g, b) for part, (r, g, b) in colours.items()})


def _scene(raw: dict[str, Any], outfits: Mapping[str, Outfit]) -> Scene:
    """Every clip says its `move`, the `how` of it, and who is in it; the rest as in Scene."""
    rest = dict(raw)
    move, outfit, how = rest.pop("move"), rest.pop("outfit"), rest.pop("how", {})
    _known(move, MOVES, what="move")
    _known(outfit, outfits, what="outfit")
    try:
        return Scene(
            how=MOVES[move](**how),
            outfit=outfits[outfit],
            view=View(rest.pop("view", View.SIDE)),
            rail=Rail(**rest.pop("rail", {})),
            **rest,
        )
    except (TypeError, ValueError) as error:
        raise BadClips(f"Clip {raw['name']!r}: {error}. Correct it in clips.toml.") from error


def _known(name: str, table: Mapping[str, object], *, what: str) -> None:
    if name not in table:
        close = get_close_matches(name, table, n=1)
        hint = f"Did you mean {close[0]!r}?" if close else f"Known: {', '.join(table)}."
        raise BadClips(f"There is no {what} {name!r}. {hint}")
