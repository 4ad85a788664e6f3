"""What drawn footage is known to show, frame by frame, as it stands beside the film.

Whoever reads it needs no library for drawing.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

Pixel = tuple[float, float]
"""Column and row, counted from the top left."""


@dataclass(frozen=True)
class Truth:
    frames: int
    rate: int
    """Frames a second."""
    size: tuple[int, int]
    """Width and height, pixels."""
    view: str
    shows: dict[str, Any]
    """What was asked for: the move and how it is swum; and the extremes that came of it."""
    seen: tuple[int, int]
    """First and last frame with the swimmer's hips in the picture: their stretch."""
    events: dict[str, list[int]]
    """The frames at which each thing happens."""
    measures: dict[str, list[float]]
    """One number a frame: degrees, or metres where the name ends in `_m`."""
    pixels: dict[str, list[Pixel]]
    """One pixel a frame for each joint; it may lie outside the picture."""

    def frame(self, event: str, turn: int) -> int:
        """Of the `turn`-th `event`, counted from 1, in the footage's own numbers."""
        return self.events[event][turn - 1]


def read(path: Path) -> Truth:
    content = json.loads(path.read_text(encoding="utf-8"))
    for name in ("size", "seen"):
        content[name] = tuple(content[name])
    content["pixels"] = {
        joint: [(column, row) for column, row in places]
        for joint, places in content["pixels"].items()
    }
    return Truth(**content)


def write(truth: Truth, path: Path) -> None:
    """One line for each list, so that a drawing that has changed can be compared."""
    content = asdict(truth)
    lists = {name: content.pop(name) for name in ("events", "measures", "pixels")}
    lines = [f"  {json.dumps(name)}: {json.dumps(value)}" for name, value in content.items()]
    for name, table in lists.items():
        rows = (f"    {json.dumps(key)}: {_short(row)}" for key, row in table.items())
        lines.append(f"  {json.dumps(name)}: {{\n" + ",\n".join(rows) + "\n  }")
    path.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def _short(row: list[Any]) -> str:
    return json.dumps(row, separators=(",", ":"))
