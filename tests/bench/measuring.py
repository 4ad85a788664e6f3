"""Speed as a ratio to a limit that is measured in the same minute.

Seconds say little on a machine that others use as well. Ours and the limit run in turn, each
run of ours is divided by the run of the limit beside it, and the median of these ratios counts.
"""

from __future__ import annotations

import os
import platform
import resource
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TypeVar

Result = TypeVar("Result")


@dataclass(frozen=True)
class Target:
    """What a ratio has to keep to, if it has to keep to anything."""

    at_most: float | None = None
    at_least: float | None = None

    def is_kept(self, ratio: float) -> bool:
        too_much = self.at_most is not None and ratio > self.at_most
        too_little = self.at_least is not None and ratio < self.at_least
        return not (too_much or too_little)

    def __str__(self) -> str:
        if self.at_most is not None:
            return f"at most {self.at_most:g}"
        return f"at least {self.at_least:g}" if self.at_least is not None else ""


@dataclass(frozen=True)
class Row:
    """Medians of `runs` runs; `limit` is what `beside` names."""

    name: str
    beside: str
    unit: str
    ours: float
    limit: float
    ratio: float
    runs: int
    target: Target

    @classmethod
    def of(
        cls,
        name: str,
        ours: Sequence[float],
        limit: Sequence[float],
        *,
        unit: str,
        beside: str,
        target: Target | None = None,
    ) -> Row:
        pairs = zip(ours, limit, strict=True)
        return cls(
            name=name,
            beside=beside,
            unit=unit,
            ours=median(ours),
            limit=median(limit),
            ratio=median(one / other for one, other in pairs),
            runs=len(ours),
            target=target or Target(),
        )

    @property
    def verdict(self) -> str:
        if self.target == Target():
            return ""
        return "kept" if self.target.is_kept(self.ratio) else "MISSED"

    def as_json(self) -> dict[str, object]:
        return {
            "name": self.name,
            "beside": self.beside,
            "unit": self.unit,
            "ours": round(self.ours, 4),
            "limit": round(self.limit, 4),
            "ratio": round(self.ratio, 4),
            "runs": self.runs,
            "target": str(self.target),
            "verdict": self.verdict,
        }


def in_turn(works: Mapping[str, Callable[[], Result]], *, runs: int) -> dict[str, list[Result]]:
    """A B C A B C …, so that whatever else the machine does meets all of them alike."""
    found: dict[str, list[Result]] = {name: [] for name in works}
    for _ in range(runs):
        for name, work in works.items():
            found[name].append(work())
    return found


@dataclass(frozen=True)
class Cost:
    """Seconds of processors, ours and our children's, and seconds by the clock on the wall."""

    cpu: float
    wall: float

    @classmethod
    def of(cls, work: Callable[[], object]) -> Cost:
        cpu, wall = _cpu_seconds(), time.perf_counter()
        work()
        return cls(_cpu_seconds() - cpu, time.perf_counter() - wall)


def _cpu_seconds() -> float:
    """A child counts once it has ended and was waited for."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def machine() -> dict[str, object]:
    return {
        "cores": os.cpu_count(),
        "load": [round(load, 2) for load in os.getloadavg()],
        "system": platform.platform(),
        "python": platform.python_version(),
    }
