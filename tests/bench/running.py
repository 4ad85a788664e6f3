"""Runs the benches one after the other, prints their table and writes it down."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from io import StringIO
from pathlib import Path

from django.conf import settings
from django.core.management import call_command

from tests.bench import (
    filming,
    finding,
    holding,
    lanes,
    paging,
    phoning,
    ranging,
    seeking,
    sending,
    summing,
)
from tests.bench.measuring import Row, machine
from tests.cast import Cast, assemble
from tests.factors import give_app

# Each is given the cast and an empty folder, and gives rows.
BENCHES: dict[str, Callable[[Cast, Path], list[Row]]] = {
    "prepare": filming.prepare,
    "clip": filming.clip,
    "pages": paging.pages,
    "finder": finding.finding,
    "seek": seeking.seek,
    "hold": holding.hold,
    "ranges": ranging.ranges,
    "patches": sending.patches,
    "lanes": lanes.lanes,
    "phone": phoning.phone,
    # Last: it leaves a million rows behind.
    "sums": summing.sums,
}
FILE = settings.BASE_DIR / "build" / "bench.json"
LINE = "{:<34} {:>10} {:>10} {:<8} {:>7}  {:<14} {:<7} {:>4}  {}\n"
HEADS = ("", "ours", "limit", "unit", "ratio", "target", "", "runs", "the limit is")


def run(only: Sequence[str], folder: Path) -> None:
    unknown = [name for name in only if name not in BENCHES]
    if unknown:
        sys.exit(f"No bench is called {unknown[0]!r}. There are: {', '.join(BENCHES)}.")
    for command in ("migrate", "collectstatic"):
        call_command(command, interactive=False, verbosity=0)
    call_command("load_technique", stdout=StringIO())
    cast = assemble()
    for user in (cast.coach, cast.other_coach):
        give_app(user)
    before, began = machine(), time.monotonic()
    say(HEADS)
    rows: list[Row] = []
    for name in only or BENCHES:
        room = folder / name
        room.mkdir()
        found = BENCHES[name](cast, room)
        rows += found
        for row in found:
            say(_columns(row))
    facts = {**before, "load at the end": machine()["load"]}
    sys.stdout.write(f"\n{facts}, {time.monotonic() - began:.0f} s\n")
    FILE.parent.mkdir(exist_ok=True)
    written = {"machine": facts, "rows": [row.as_json() for row in rows]}
    FILE.write_text(json.dumps(written, indent=1) + "\n")


def say(columns: Sequence[object]) -> None:
    sys.stdout.write(LINE.format(*columns))
    sys.stdout.flush()


def _columns(row: Row) -> Sequence[object]:
    figures = (f"{row.ours:.4g}", f"{row.limit:.4g}", row.unit, f"{row.ratio:.3g}")
    return (row.name, *figures, str(row.target), row.verdict, row.runs, row.beside)
