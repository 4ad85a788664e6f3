"""How large the copies and the small pictures of a film are."""

from __future__ import annotations

import math
from dataclasses import dataclass

from portal.recordings.probing import Facts


@dataclass(frozen=True)
class Bound:
    """The largest size of a copy, lying or standing, and its peak in Mbit/s."""

    long: int
    short: int
    peak: int

    def fit(self, width: int, height: int) -> tuple[int, int]:
        """Never larger than the film; even, as the format wants."""
        share = min(1, self.long / max(width, height), self.short / min(width, height))
        return _even(width * share), _even(height * share)


LIGHT = Bound(960, 540, 4)
FULL = Bound(1920, 1080, 12)
POSTER = Bound(640, 360, 0)
TILE = Bound(160, 160, 0)
COLUMNS = 10
MOST_TILES, FEWEST_TILES = 200, 20


def _even(side: float) -> int:
    # A hair is added because 1080 / 1920 * 960 may come out as 539.99.
    return max(2, int(side + 0.001) // 2 * 2)


@dataclass(frozen=True)
class Strip:
    """Small pictures in rows: tile n shows frame n * step."""

    step: int
    tile: tuple[int, int]
    columns: int = COLUMNS

    @classmethod
    def of(cls, facts: Facts) -> Strip:
        """A tile a second, or fewer for a long film and more for a short one."""
        frames = facts.frame_count
        step = min(round(facts.rate), frames // FEWEST_TILES)
        step = max(1, step, math.ceil(frames / MOST_TILES))
        return cls(step, TILE.fit(facts.width, facts.height))

    def count(self, frames: int) -> int:
        return math.ceil(frames / self.step)

    def as_json(self, frames: int) -> dict[str, object]:
        return {
            "step": self.step,
            "columns": self.columns,
            "tile": list(self.tile),
            "count": self.count(frames),
        }
