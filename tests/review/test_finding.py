"""What coaches, parents and swimmers say in their own words is found among the first three.

Lists of everyday speech from memory. The sixty were there first; each of the others was written
down before the words that help to find it, as its second line says. The words that the catalogue
knows beside its names stand in the same files as the faults.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings

from portal.review import choosing
from portal.technique import catalogue, finding, speech

FOLDER = Path(__file__).parent
MODULES = settings.BASE_DIR / "static/js/bench"
ASK = """
import { readFileSync } from "node:fs";
import { offer } from "%(module)s";
const { terms, asked } = JSON.parse(readFileSync(0));
const answers = asked.map(([stroke, typed]) =>
  offer(terms[stroke], typed).flatMap((group) => group.terms.map((term) => term.slug)));
console.log(JSON.stringify(answers));
"""
TELL = """
import { ALIKE, FILLERS } from "%(module)s";
console.log(JSON.stringify([ALIKE, [...FILLERS]]));
"""
# Of all of them; groups by phase may put the best one a little lower.
ENOUGH = {
    "phrases.txt": 57,
    "phrases_deck.txt": 58,
    "phrases_later.txt": 37,
    "phrases_fresh.txt": 33,
    "phrases_last.txt": 46,
}
STROKES = ("free", "back", "breast", "fly")

Terms = dict[str, list[dict[str, object]]]


@pytest.fixture
def terms(db) -> Terms:
    catalogue.load()
    return {stroke: choosing.as_json(stroke)["faults"] for stroke in STROKES}


def phrases(name: str) -> list[list[str]]:
    """Stroke, what is typed, the fault that is meant."""
    lines = (FOLDER / name).read_text().splitlines()
    return [[part.strip() for part in line.split("|")] for line in lines if line and line[0] != "#"]


def node(script: str, module: str, said: object = None) -> object:
    program = shutil.which("node")
    if program is None:
        pytest.fail("node is missing. Type: apt-get install -y nodejs", pytrace=False)
    answer = subprocess.run(
        [program, "--input-type=module", "-e", script % {"module": (MODULES / module).as_uri()}],
        input=json.dumps(said),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(answer.stdout)


def answers(terms: Terms, asked: list[tuple[str, str]]) -> list[list[str]]:
    found = node(ASK, "matching.js", {"terms": terms, "asked": asked})
    assert isinstance(found, list)
    return found


def test_it_works(terms: Terms):
    for name, enough in ENOUGH.items():
        known = phrases(name)
        found = answers(terms, [(stroke, typed) for stroke, typed, _slug in known])
        missed = [
            f"{typed} ({stroke}): {slug}, offered {offered[:3]}"
            for (stroke, typed, slug), offered in zip(known, found, strict=True)
            if slug not in offered[:3]
        ]
        assert len(known) - len(missed) >= enough, "\n".join(missed)


def test_the_lists_are_what_they_were():
    assert [len(phrases(name)) for name in ENOUGH] == [60, 66, 42, 40, 50]


def test_every_fault_is_found_by_its_own_name(terms: Terms):
    for stroke in STROKES:
        found = answers(terms, [(stroke, str(fault["name"])) for fault in terms[stroke]])
        for fault, offered in zip(terms[stroke], found, strict=True):
            assert fault["slug"] in offered[:3], fault["name"]


def test_the_server_finds_the_same(terms: Terms):
    """The search box without scripts and the finder answer alike, to the place."""
    asked = [
        (stroke, typed)
        for name in ENOUGH
        for stroke, whole, _slug in phrases(name)
        for typed in (whole, whole[:-2], whole.replace("e", "", 1))
    ]
    found = answers(terms, asked)
    indices = {stroke: index_of(terms[stroke]) for stroke in STROKES}
    for (stroke, typed), offered in zip(asked, found, strict=True):
        likely = [finding.WEIGHTY.get(str(term["severity"]), 0) for term in terms[stroke]]
        best = indices[stroke].best(typed, likely=likely)
        here = [terms[stroke][place] for place in best]
        grouped = [
            term["slug"]
            for phase in dict.fromkeys(term["phase"] for term in here)
            for term in here
            if term["phase"] == phase
        ]
        assert grouped == offered, typed


def index_of(terms: list[dict[str, object]]) -> finding.Index:
    return finding.Index(
        [
            finding.Text(
                str(term["name"]),
                term["also"],  # type: ignore[arg-type]
                str(term["see"]),
                f"{term['cue']} {term['point']} {term['phase']}",
            )
            for term in terms
        ]
    )


def test_both_know_the_same_speech():
    assert node(TELL, "speech.js") == [
        [list(group) for group in speech.ALIKE],
        sorted(speech.FILLERS),
    ]
