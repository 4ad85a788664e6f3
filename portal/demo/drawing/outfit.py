"""What a swimmer wears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from portal.demo.drawing.flesh import Stuff
from portal.demo.drawing.tiles import Colour, Plane

GOGGLES: Colour = (22, 26, 34)


@dataclass(frozen=True)
class Outfit:
    """Colours, 0 to 255. Back and belly of the suit differ, so that roll is read at a glance."""

    cap: Colour = (250, 120, 40)
    back: Colour = (30, 36, 66)
    belly: Colour = (196, 52, 84)
    seam: Colour = (250, 236, 214)
    skin: Colour = (236, 168, 128)

    def paint(self) -> Plane:
        """One row a stuff, by its number."""
        colours: Plane = np.zeros((len(Stuff) + 1, 3), np.float32)
        colours[Stuff.SKIN], colours[Stuff.CAP] = self.skin, self.cap
        colours[Stuff.SUIT] = colours[Stuff.SEAT] = self.back
        colours[Stuff.LENS] = GOGGLES
        return colours
