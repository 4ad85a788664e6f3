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

from portal.people.models import Club
from portal.recordings.models import View
from portal.technique import catalogue, citing
from portal.technique.models import Caution, Checkpoint, Drill, Edition, Fault, Phase, Rule
from portal.technique.reading import FOLDER, VIEWS, BadCatalogue, DrillEntry, FaultEntry, read
from tests.cast import NOW

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
applies = "The whole race"
views = ["wall-deck"]
[[rules.citations]]
book = "World Aquatics"
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
NAMELESS = ("rules touch", "drills land-kick", "checkpoints heels", "faults low-heels")


def closed(*terms: str, more: str = "") -> str:
    """Each a table and a slug."""
    return "".join(
        f"""
[[retired]]
table = "{table}"
slug = "{slug}"
name = "An old name"
because = "Nobody said it."
{more}
"""
        for table, slug in (term.split(" ") for term in terms)
    )


# All that WHOLE holds, closed.
EMPTY = closed(*NAMELESS)


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
    for text in (WHOLE, WHOLE, WHOLE.replace("Heels up.", "Heels to the hips."), EMPTY):
        catalogue.load(write(tmp_path, text), at=NOW)
        stamps.append(Edition.objects.all()[0].stamp)

    assert stamps[0] == stamps[1]
    assert len(set(stamps)) == 3
    newest = Edition.objects.all()[0]
    assert (newest.number, newest.loaded_at, newest.counts) == (3, NOW, {"retired": 4})


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
    changed = (
        WHOLE.replace('"3 x 8"', '"4 x 8"')
        .replace('rules = ["touch"]', "")
        .replace(RULE, closed("rules touch"))
    )
    loaded = catalogue.load(write(tmp_path, changed))
    assert [str(change) for change in loaded.changes] == [
        "retired rules touch",
        "changed drills land-kick",
        "changed faults low-heels",
    ]
    assert Drill.objects.get() == old
    assert Drill.objects.get().dose == "4 x 8"
    assert not Fault.objects.get().rules.exists()


def test_a_closed_term_is_retired_and_may_come_back(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    fault = Fault.objects.get()
    catalogue.load(write(tmp_path, EMPTY))
    for model in (Rule, Drill, Checkpoint, Fault):
        assert model.objects.get().because == "Nobody said it."
        assert not model.objects.current().exists()
    assert Caution.objects.count() == 1
    loaded = catalogue.load(write(tmp_path, WHOLE))
    assert loaded.counts == {"changed": 4}
    assert Fault.objects.current().get() == fault
    assert fault.because == ""


OTHER = FAULT.replace('"low-heels"', '"short-heels"').replace('"Low heels"', '"Short heels"')
MERGED = WHOLE.replace(FAULT, OTHER) + closed(
    "faults low-heels", more='merged_into = "short-heels"'
)
SPLIT = WHOLE.replace(
    FAULT, OTHER + OTHER.replace('"short-heels"', '"lazy-heels"').replace("Short", "Lazy")
) + closed("faults low-heels", more='split_into = ["short-heels", "lazy-heels"]')


def test_a_merged_term_points_at_the_other_and_stays_what_it_was(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    before = Fault.objects.get()
    loaded = catalogue.load(write(tmp_path, MERGED))
    assert [str(change) for change in loaded.changes] == [
        "added faults short-heels",
        "retired faults low-heels",
    ]
    old, new = Fault.objects.get(slug="low-heels"), Fault.objects.get(slug="short-heels")
    assert (old.standing, new.standing) == (new, new)
    assert (old.pk, old.name, old.see) == (before.pk, before.name, before.see)
    assert catalogue.load(tmp_path).changes == ()


def test_a_split_term_is_closed_and_names_who_takes_over(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    catalogue.load(write(tmp_path, SPLIT))
    old = Fault.objects.get(slug="low-heels")
    assert (old.is_retired, old.standing) == (True, old)
    assert old.split_into == ["short-heels", "lazy-heels"]


def test_a_rename_is_a_label(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    before = Fault.objects.get().pk
    catalogue.load(write(tmp_path, WHOLE.replace('"Low heels"', '"Heels stay low"')))
    assert Fault.objects.get().name == "Heels stay low"
    assert Fault.objects.get().pk == before


def test_a_slug_that_vanished_is_refused_and_nothing_is_loaded(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    renamed = WHOLE.replace('"low-heels"', '"heels-stay-low"').replace("Heels up.", "Up.")
    with pytest.raises(BadCatalogue, match=r"'low-heels' is known .* now that of 'heels-stay-low'"):
        catalogue.load(write(tmp_path, renamed))
    with pytest.raises(BadCatalogue, match=r"put it back and change its name only, or list it"):
        catalogue.rehearse(write(tmp_path, ""))
    assert Fault.objects.get().cue == "Heels up."


def test_a_clubs_own_words_are_left_alone(db, tmp_path: Path) -> None:
    catalogue.load(write(tmp_path, WHOLE))
    club = Club.objects.create(name="Otterbrook", course="25 m")
    point = Checkpoint.objects.get()
    own = Fault.objects.create(
        slug="own-1", name="Frog too lazy", strokes=" breast ", phase="kick", checkpoint=point,
        club=club, severity="minor", views="", see="x", cue="x", cue_young="x",
    )  # fmt: skip
    assert catalogue.load(tmp_path).changes == ()
    assert own not in Fault.objects.current()
    assert own in Fault.objects.of_club(club)


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
        r"37 rules, 110 drills, 87 checkpoints, 168 faults, 0 retired: \d+ added", said.getvalue()
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
