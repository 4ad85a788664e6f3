"""How long the finder takes to rank two thousand terms: on the server, and as the browser does.

The limit is a time, thirty milliseconds, since the list has to follow the keys on any machine.
"""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from shutil import which

from django.conf import settings

from portal.review import choosing
from portal.technique.finding import Index, Text
from tests.bench.measuring import Row, Target
from tests.cast import Cast

TERMS, LIMIT_MS = 2_000, 30.0
PHRASES = Path(__file__).parents[1] / "review" / "phrases.txt"
ASK = """
import { readFileSync } from "node:fs";
import { offer } from "%(module)s";
const { terms, asked } = JSON.parse(readFileSync(0));
offer(terms, "warm");
const took = asked.map((typed) => {
  const began = performance.now();
  offer(terms, typed);
  return performance.now() - began;
});
console.log(JSON.stringify(took));
"""


def finding(_cast: Cast, _folder: Path) -> list[Row]:
    terms = _terms()
    asked = [line.split("|")[1].strip() for line in PHRASES.read_text().splitlines() if "|" in line]
    # The first line says what the columns are.
    asked = asked[1:]
    index = Index([_text(term) for term in terms])
    server = [_milliseconds(index.best, typed) for typed in asked]
    return [
        _row("finder, server", server),
        _row("finder, browser", _in_browser(terms, asked)),
    ]


def _terms() -> list[dict[str, str]]:
    """The catalogue again and again, each time under other names."""
    faults = [
        fault
        for stroke in ("free", "back", "breast", "fly")
        for fault in choosing.as_json(stroke)["faults"]
    ]
    return [
        {
            **faults[place % len(faults)],
            "slug": f"{place}",
            "name": f"{faults[place % len(faults)]['name']} {place}",
        }
        for place in range(TERMS)
    ]


def _text(term: dict[str, str]) -> Text:
    said = f"{term['cue']} {term['point']} {term['phase']}"
    return Text(term["name"], tuple(term["also"]), term["see"], said)


def _milliseconds(find: Callable[[str], object], typed: str) -> float:
    began = time.perf_counter()
    find(typed)
    return 1000 * (time.perf_counter() - began)


def _in_browser(terms: Sequence[dict[str, str]], asked: Sequence[str]) -> list[float]:
    module = (settings.BASE_DIR / "static/js/bench/matching.js").as_uri()
    program = which("node") or "node"
    said = subprocess.run(
        [program, "--input-type=module", "-e", ASK % {"module": module}],
        input=json.dumps({"terms": terms, "asked": asked}),
        capture_output=True,
        text=True,
        check=True,
    )
    took: list[float] = json.loads(said.stdout)
    return took


def _row(name: str, took: Sequence[float]) -> Row:
    """Each of the sixty phrases once: the median of them counts, and the slowest is in the name."""
    slowest = max(took)
    return Row.of(
        f"{name}, {TERMS:,} terms (slowest {slowest:.0f})",
        took,
        [LIMIT_MS] * len(took),
        unit="ms",
        beside="thirty milliseconds",
        target=Target(at_most=1),
    )
