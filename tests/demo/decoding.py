"""Films as pictures."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

Frame = NDArray[np.uint8]
"""Height x width x 3."""


def frames(path: Path) -> Iterator[Frame]:
    with av.open(str(path)) as film:
        for frame in film.decode(video=0):
            yield np.asarray(frame.to_ndarray(format="rgb24"), np.uint8)
