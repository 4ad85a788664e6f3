"""The starter catalogue: what is in it, and how it becomes rows."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import asdict
from functools import partial
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.recordings.models import View
from portal.technique import catalogue, citing
from portal.technique.models import Caution, Checkpoint, Drill, Edition, Fault, Phase, Rule
from portal.technique.reading import FOLDER, VIEWS, BadCatalogue, DrillEntry, FaultEntry, read

CAUTION = """
[[cautions]]
slug = "knees"
name = "Knees"
text = "Sore? Stop."
"""
RULE = """
[[rules]]
slug = "touch"
name = "Touch"
strokes = ["breast"]
phase = "turn"
paraphrase = "Both hands."
seen_when_broken = "One hand."
[[rules.citations]]
book = "A book"
article = "1"
edition = "2020"
certainty = "part"
"""
DRILL = """
[[drills]]
slug = "land-kick"
name = "Kick on land"
strokes = ["breast"]
phase = "kick"
how = "Sit and kick."
dose = "3 x 8"
cautions = ["knees"]
"""
CHECKPOINT = """
[[checkpoints]]
slug = "heels"
name = "Heels up"
strokes = ["breast"]
phase = "kick"
good = "Heels close."
"""
FAULT = """
[[faults]]
slug = "low-heels"
name = "Low heels"
checkpoint = "heels"
strokes = ["breast"]
phase = "kick"
severity = "major"
views = ["side-underwater"]
see = "Far from the seat."
cost = "Short kick."
cue = "Heels up."
cue_young = "Heels!"
drills = ["land-kick"]
rules = ["touch"]
"""
WHOLE = CAUTION + RULE + DRILL + CHECKPOINT + FAULT


def write(folder: Path, text: str, name: str = "terms.toml") -> Path:
    (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_it_works(db) -> None:
    loaded = catalogue.load()
    assert loaded.counts == {"added": sum(loaded.entries.values())}
    heels = Fault.objects.current().for_stroke("breast").get(slug="breast-heels-low")
    assert heels.checkpoint.slug == "breast-heels-high"
    assert [drill.slug for drill in heels.drills.all()] == [
        "breast-deck-edge-kick",
        "breast-kick-hands-hips",
    ]
    assert [caution.slug for caution in heels.cautions.all()] == ["knee-pain"]
    assert heels.views.split() == ["side-underwater"]
    assert Checkpoint.objects.for_stroke("breast").count() >= 14
    assert Fault.objects.for_stroke("breast").count() >= 24
    assert not Fault.objects.for_stroke("free").filter(slug="breast-heels-low").exists()
    assert Fault.objects.for_stroke("free").filter(slug="pushoff-loose-streamline").exists()
    touch = Rule.objects.get(slug="two-hand-touch")
    assert {citation["book"] for citation in touch.citations} == {
        "World Aquatics",
        "USA Swimming",
        "NFHS",
        "U.S. Masters Swimming",
    }


def test_a_second_load_writes_nothing(db) -> None:
    catalogue.load()
    with CaptureQueriesContext(connection) as queries:
        loaded = catalogue.load()
    assert loaded.changes == ()
    assert [
        query["sql"] for query in queries if query["sql"].startswith(("INS", "UPD", "DEL"))
    ] == []


def test_only_a_change_makes_a_new_edition(db, tmp_path: Path) -> None:
    stamps = []
    for text in (WHOLE, WHOLE, WHOLE.replace("Heels up.", "Heels to the hips."), ""):
        catalogue.load(write(tmp_path, text))
        stamps.append(Edition.objects.get().stamp)

    assert stamps[0] == stamps[1]
    assert len(set(stamps)) == 3


def test_a_rehearsal_makes_no_edition(db) -> None:
    catalogue.rehearse()
    assert not Edition.objects.exists()


def test_every_fault_can_be_said_and_mended() -> None:
    entries = read()
    drills = {drill.slug: drill for drill in entries.drills}
    for fault in entries.faults:
        assert fault.cue, fault.slug
        assert 1 <= len(fault.cue_young.split()) <= 8, fault.slug
        assert all(drills[slug].dose for slug in fault.drills), fault.slug


def test_every_stroke_and_every_part_of_a_swim_has_its_words() -> None:
    entries = read()
    assert len(entries.faults) >= 160
    assert len(entries.checkpoints) >= 85
    assert len(entries.drills) >= 110
    for stroke, least in {"free": 24, "back": 24, "breast": 28, "fly": 22, "im": 6}.items():
        own = [fault for fault in entries.faults if stroke in fault.strokes]
        assert len(own) >= least, stroke
    assert {fault.phase for fault in entries.faults} == set(Phase.values)


def test_every_checkpoint_can_go_wrong_and_a_stroke_finds_its_drills() -> None:
    entries = read()
    drills = {drill.slug: set(drill.strokes) for drill in entries.drills}
    assert {fault.checkpoint for fault in entries.faults} == {
        checkpoint.slug for checkpoint in entries.checkpoints
    }
    for fault in entries.faults:
        for slug in fault.drills:
            shared = drills[slug] & {*fault.strokes, "any"}
            assert shared or "any" in fault.strokes or fault.strokes == ("im",), (fault.slug, slug)


def test_what_leaves_the_block_or_stays_under_says_what_to_beware_of() -> None:
    entries = read()
    terms: list[DrillEntry | FaultEntry] = [*entries.drills, *entries.faults]
    for term in terms:
        if term.phase == "underwater":
            assert {"breath-holding", "neck-back"} & {*term.cautions}, term.slug
        if term.phase == "start" and term.slug != "standing-long-jump":
            assert "racing-dive-depth" in term.cautions, term.slug


def test_cautions_stand_where_they_are_needed() -> None:
    entries = read()
    terms: list[DrillEntry | FaultEntry] = [*entries.drills, *entries.faults]
    for term in terms:
        if term.phase == "pullout":
            assert "breath-holding" in term.cautions, term.slug
        if term.phase == "kick" and "breast" in term.strokes:
            assert "knee-pain" in term.cautions, term.slug
    drills = {drill.slug: drill for drill in entries.drills}
    assert "breath-holding" in drills["streamline-push-hold"].cautions


def test_a_fault_that_costs_a_swim_names_its_rule() -> None:
    for fault in read().faults:
        assert bool(fault.rules) == ("legal" in fault.cost or "cost you the swim" in fault.cost), (
            fault.slug
        )


def test_rules_are_never_surer_than_their_source() -> None:
    """Only texts that were read are called verified."""
    for rule in read().rules:
        for citation in rule.citations:
            read_text = "undated copy" in citation.source
            assert (citation.certainty == "verified") == read_text, rule.slug


def test_what_families_read_of_a_rule_holds_no_notes_on_our_sources() -> None:
    for rule in read().rules:
        citations = [citing.Citation(**asdict(each)) for each in rule.citations]  # type: ignore[typeddict-item]
        line = citing.named(rule.name, citations)
        assert re.fullmatch(
            rf"{re.escape(rule.name)}, World Aquatics, edition of [\w ]+"
            r" \(not checked against the current book\)",
            line,
        )


def test_views_are_those_of_clips() -> None:
    assert set(View.values) == VIEWS


def test_a_changed_entry_changes_its_row(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    old = Drill.objects.get()
    changed = WHOLE.replace('"3 x 8"', '"4 x 8"').replace('rules = ["touch"]', "").replace(RULE, "")
    loaded = catalogue.load(write(tmp_path, changed))
    assert [str(change) for change in loaded.changes] == [
        "retired rules touch",
        "changed drills land-kick",
        "changed faults low-heels",
    ]
    assert Drill.objects.get() == old
    assert Drill.objects.get().dose == "4 x 8"
    assert not Fault.objects.get().rules.exists()


def test_a_vanished_term_is_retired_and_may_come_back(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    fault = Fault.objects.get()
    catalogue.load(write(tmp_path, ""))
    for model in (Rule, Drill, Checkpoint, Fault):
        assert model.objects.count() == 1
        assert not model.objects.current().exists()
    assert Caution.objects.count() == 1
    loaded = catalogue.load(write(tmp_path, WHOLE))
    assert loaded.counts == {"changed": 4}
    assert Fault.objects.current().get() == fault


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (WHOLE + 'colour = "red"', r"terms.toml: faults 'low-heels': unknown key 'colour'"),
        (WHOLE.replace("cue_young", "cue_yong"), r"'cue_yong'. Did you mean 'cue_young'\?"),
        (WHOLE.replace('cue = "Heels up."', ""), r"faults 'low-heels': 'cue' is missing"),
        (WHOLE.replace('"Heels up."', '" "'), r"faults 'low-heels': cue is ' '. Write words"),
        (WHOLE.replace('"Heels up."', "3"), r"faults 'low-heels': cue is 3. Write words"),
        (WHOLE.replace('drills = ["land-kick"]', "drills = []"), r"drills is \[\]. Write a list"),
        (
            WHOLE.replace('"land-kick"]', '"land-kik"]'),
            r"no file has the drills 'land-kik'. Did you mean 'land",
        ),
        (
            WHOLE.replace('t = "heels"', 't = "toes"'),
            r"has the checkpoint 'toes'. Known: heels",
        ),
        (
            WHOLE.replace('["touch"]', '["grab"]'),
            r"faults 'low-heels': no file has the rules 'grab'",
        ),
        (
            WHOLE.replace('["knees"]', '["elbow"]'),
            r"drills 'land-kick': no file has the cautions 'elb",
        ),
        (WHOLE + CHECKPOINT, r"terms.toml: checkpoints 'heels' stands in terms.toml already"),
        (WHOLE.replace('rules = ["touch"]', ""), r"terms.toml: nothing names rules 'touch'"),
        (WHOLE.replace('["breast"]', '["brest"]', 1), r"unknown strokes 'brest'. Did you mean 'br"),
        (WHOLE.replace('"kick"', '"kik"', 1), r"unknown phase 'kik'. Did you mean 'kick'\?"),
        (WHOLE.replace('"side-u', '"sid-u'), r"'sid-underwater'. Did you mean 'side-underwater'"),
        (WHOLE.replace('"major"', '"bad"'), r"unknown severity 'bad'. Known: major, minor, mod"),
        (WHOLE.replace('"part"', '"sure"'), r"rules 'touch': unknown certainty 'sure'. Known: f"),
        (WHOLE.replace("[[faults]]", "[[falts]]"), r"unknown table 'falts'. Did you mean 'faults'"),
        ("faults = [3]", r"terms.toml: faults 3: is not a table"),
        ("faults =", r"terms.toml: is not TOML"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(BadCatalogue, match=message):
        read(write(tmp_path, text))


def test_words_too_long_for_the_page_are_refused_and_nothing_is_loaded(db, tmp_path: Path) -> None:
    with pytest.raises(BadCatalogue, match=r"'low-heels' does not fit.*at most 160"):
        catalogue.load(write(tmp_path, WHOLE.replace("Heels up.", "Heels up. " * 20)))
    assert not Caution.objects.exists()


def run(*arguments: str) -> str:
    said = StringIO()
    call_command("load_technique", *arguments, stdout=said, skip_checks=True)
    return said.getvalue()


def test_the_command_loads_and_then_has_nothing_to_do(db) -> None:
    assert "added" in run()
    assert "nothing to change" in run()
    assert "nothing to change" in run("--check")


def test_check_prints_and_changes_nothing(db, capsys) -> None:
    said = StringIO()
    with pytest.raises(SystemExit, match="1"):
        call_command("load_technique", "--check", stdout=said, skip_checks=True)
    assert "added faults breast-heels-low\n" in said.getvalue()
    assert re.search(
        r"\d+ rules, \d+ drills, \d+ checkpoints, \d+ faults: \d+ added", said.getvalue()
    )
    assert not Caution.objects.exists()


def test_without_tables_the_command_says_what_to_do(tmp_path: Path) -> None:
    there = {**os.environ, "FLAGLINE_DATA": str(tmp_path), "FLAGLINE_DATABASE": ""}
    tried = subprocess.run(
        [sys.executable, "manage.py", "load_technique", "--check"],
        cwd=settings.BASE_DIR,
        env=there,
        capture_output=True,
        text=True,
    )
    assert tried.returncode == 1
    assert "has no tables yet. Start the portal once" in tried.stderr
    assert "Traceback" not in tried.stderr


def test_the_command_says_what_is_wrong(db, tmp_path: Path, monkeypatch) -> None:
    broken = shutil.copytree(FOLDER, tmp_path / "data")
    write(broken, CAUTION, "more.toml")
    monkeypatch.setattr(catalogue, "load", partial(catalogue.load, broken))
    with pytest.raises(CommandError, match=r"more.toml: nothing names cautions 'knees'"):
        run()
