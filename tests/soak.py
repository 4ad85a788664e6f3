"""How often a test that lives on chance repeats itself."""

from __future__ import annotations

from portal import env


def count(reduced: int, full: int) -> int:
    """`full` under `make soak`, which sets FLAGLINE_SOAK=1; else `reduced`."""
    return full if env.flag("FLAGLINE_SOAK") else reduced
