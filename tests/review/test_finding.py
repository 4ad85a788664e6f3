"""What coaches say in their own words is found among the first three that the finder offers.

The phrases are everyday speech from memory; the words that the catalogue knows beside its names
stand in the same files as the faults.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings

from portal.review import choosing
from portal.technique import catalogue

PHRASES = Path(__file__).with_name("phrases.txt")
ASK = """
import { readFileSync } from "node:fs";
import { offer } from "%(module)s";
const { terms, asked } = JSON.parse(readFileSync(0));
const answers = asked.map(([stroke, typed]) =>
  offer(terms[stroke], typed).flatMap((group) => group.terms.map((term) => term.slug)));
console.log(JSON.stringify(answers));
"""
# Of the sixty; groups by phase may put the best one a little lower.
ENOUGH = 55


def phrases() -> list[list[str]]:
    """Stroke, what is typed, the fault that is meant."""
    lines = [line for line in PHRASES.read_text().splitlines() if line and line[0] != "#"]
    return [[part.strip() for part in line.split("|")] for line in lines]


def answers(asked: list[tuple[str, str]]) -> list[list[str]]:
    node = shutil.which("node")
    if node is None:
        pytest.fail("node is missing. Type: apt-get install -y nodejs", pytrace=False)
    module = (settings.BASE_DIR / "static/js/bench/matching.js").as_uri()
    terms = {stroke: choosing.as_json(stroke)["faults"] for stroke, _typed in asked}
    said = subprocess.run(
        [node, "--input-type=module", "-e", ASK % {"module": module}],
        input=json.dumps({"terms": terms, "asked": asked}),
        capture_output=True,
        text=True,
        check=True,
    )
    found: list[list[str]] = json.loads(said.stdout)
    return found


def test_it_works(db):
    catalogue.load()
    known = phrases()
    assert len(known) == 60
    found = answers([(stroke, typed) for stroke, typed, _slug in known])
    missed = [
        f"{typed} ({stroke}): {slug}, offered {offered[:3]}"
        for (stroke, typed, slug), offered in zip(known, found, strict=True)
        if slug not in offered[:3]
    ]
    assert len(missed) <= len(known) - ENOUGH, "\n".join(missed)


def test_every_fault_is_found_by_its_own_name(db):
    catalogue.load()
    for stroke in ("free", "back", "breast", "fly"):
        faults = choosing.as_json(stroke)["faults"]
        found = answers([(stroke, fault["name"]) for fault in faults])
        for fault, offered in zip(faults, found, strict=True):
            assert fault["slug"] in offered[:3], fault["name"]
