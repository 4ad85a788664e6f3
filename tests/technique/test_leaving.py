"""A club takes its words along and brings them again: nothing is lost on the way."""

from __future__ import annotations

import csv
from html import unescape
from io import StringIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st
from rdflib import Graph, URIRef
from rdflib.namespace import RDF, SKOS

from portal.technique import catalogue, leaving, lexicon, skos
from portal.technique.lexicon import HINTS, Lexicon, Row, Unreadable
from portal.technique.models import Checkpoint, Drill, Fault, Vocabulary, Wording
from portal.technique.owning import By, Refused, add, choose_book, reword
from tests.cast import NOW, Cast, signed_in

words = st.text(st.characters(exclude_categories=("Cs", "Cc"), include_characters="\n\t\r"))
# A list stands in one cell, a line each.
lines = st.lists(
    st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1).filter(str.strip),
    max_size=3,
).map(tuple)
ANY = {str: words, bool: st.booleans(), tuple[str, ...]: lines}
NEEDED = ("table", "slug", "whose", "name")
rows = st.builds(
    Row,
    **{name: ANY[hint] for name, hint in HINTS.items()}
    | {name: words.filter(bool) for name in NEEDED},
)


@pytest.fixture
def by(cast: Cast) -> By:
    return By(cast.head_coach, NOW)


@pytest.fixture
def ours(cast: Cast, by: By) -> Cast:
    """A club that has made the words its own."""
    catalogue.load()
    part = {"strokes": " breast ", "phase": "kick"}
    point = add(cast.club, Checkpoint, {"name": "=Quiet knees", "good": "Still.", **part}, by=by)
    drill = add(cast.club, Drill, {"name": "Pebble", "how": "A\nB", "dose": "4", **part}, by=by)
    add(
        cast.club,
        Fault,
        {
            "name": "Loud knees", "checkpoint": point, "see": "Splash.", "cost": "Speed.",
            "cue": "Hush.", "cue_young": "Sh!", "severity": "minor", "also": ["noisy"], **part,
        },
        drills=[drill.slug, "breast-kick-hands-hips"],
        by=by,
    )  # fmt: skip
    said = {"name": "Lazy heels", "cue": "Up!", "cue_young": "", "drills": [drill.slug]}
    reword(cast.club, "faults", "breast-heels-low", {**said, "is_hidden": False}, by=by)
    reword(cast.club, "drills", "pullout-steps", {"is_hidden": True}, by=by)
    choose_book(cast.club, "NFHS", by=by)
    return cast


def bring(client: Client, content: bytes | None, name: str) -> str:
    """The page after it."""
    data = {"words": SimpleUploadedFile(name, content)} if content else {}
    page = client.post("/technique/own/bring/", data, follow=True)
    return unescape(page.content.decode())


def forget(cast: Cast) -> None:
    for model in (Fault, Checkpoint, Drill):
        model.objects.filter(club=cast.club).delete()
    Wording.objects.filter(club=cast.club).delete()
    Vocabulary.objects.filter(club=cast.club).delete()


@pytest.mark.parametrize("kind", ["toml", "csv"])
def test_it_works(ours: Cast, kind: str):
    coach = signed_in(ours.head_coach)
    before = leaving.gather(ours.club)
    taken = coach.get(f"/technique/own/take/{kind}/")
    assert taken.headers["Content-Disposition"] == f'attachment; filename="technique.{kind}"'
    forget(ours)
    assert leaving.gather(ours.club) != before

    page = bring(coach, taken.content, f"technique.{kind}")

    assert "5 words were taken in." in page
    after = leaving.gather(ours.club)
    assert sorted(after.rows, key=str) == sorted(before.rows, key=str)
    assert after.rule_book == ("NFHS" if kind == "toml" else "World Aquatics")
    again = bring(coach, taken.content, f"technique.{kind}")
    assert "Nothing in the file is new." in again


def test_another_club_gets_slugs_of_its_own(ours: Cast):
    rival = By(ours.rival_coach, NOW)
    theirs = ours.rival_coach.memberships.get().club
    counts = leaving.take_in(theirs, leaving.gather(ours.club), by=rival)
    assert counts == {"added": 3, "reworded": 2}
    copy = Fault.objects.get(club=theirs)
    assert copy.checkpoint.club == theirs
    assert {drill.club for drill in copy.drills.all()} == {theirs, None}
    wording = Wording.objects.get(club=theirs, slug="breast-heels-low")
    assert wording.drills == [Drill.objects.get(club=theirs).slug]
    assert Fault.objects.filter(club=ours.club).count() == 1


@given(st.lists(rows, max_size=4), words)
def test_both_files_bring_back_what_was_put_in(found: list[Row], book: str):
    all_of_it = Lexicon(tuple(found), book)
    assert lexicon.from_toml(lexicon.as_toml(all_of_it)) == all_of_it
    assert lexicon.from_csv(lexicon.as_csv(all_of_it)).rows == all_of_it.rows


@given(st.lists(rows, min_size=1, max_size=2))
def test_no_cell_is_a_sum(found: list[Row]):
    sheet = csv.reader(StringIO(lexicon.as_csv(Lexicon(tuple(found))), newline=""))
    assert not any(
        cell.startswith(("=", "+", "-", "@", "\t", "\r")) for row in sheet for cell in row
    )


ROW = '[[words]]\ntable = "drills"\nslug = "x"\nwhose = "club"\nname = "X"\n'


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("words = ", "This is not TOML"),
        ("format = 2", "Format 2 is not known"),
        ("format = 1\nwords = 3", "has to be a list"),
        ("format = 1\nwords = [3]", "words 1: 3 is no table"),
        (f'format = 1\n{ROW}colour = "red"', "unknown column 'colour'"),
        (f"format = 1\n{ROW}also = [3]", "also is [3], which does not belong there"),
        (f"format = 1\n{ROW}cue = true", "cue is True, which does not belong there"),
        ('format = 1\n[[words]]\nslug = "x"', "name, table, whose is missing"),
        (f"format = 1\n{ROW}", "X: strokes: This field is required"),
        ('format = 1\nrule_book = "Pub quiz"', "no rule book we know"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_and_nothing_is_kept(
    cast: Cast, file: str, said: str
):
    shown = bring(signed_in(cast.coach), file.encode(), "words.toml")
    assert "Nothing was taken in." in shown
    assert said in shown
    assert not Drill.objects.exists()


@pytest.mark.parametrize("sent", [b"\xff\xfe", b"x" * 1_000_001, None])
def test_a_file_that_is_no_text_or_too_large(cast: Cast, sent: bytes | None):
    assert "Nothing was taken in." in bring(signed_in(cast.coach), sent, "words.csv")


def test_a_row_that_does_not_fit_takes_back_those_before_it(ours: Cast, by: By):
    kept = leaving.gather(ours.club)
    forget(ours)
    broken = Row(table="faults", slug="own-9", whose="club", name="Y", checkpoint="nowhere")
    with pytest.raises(Refused, match=r"^Y: "):
        leaving.take_in(ours.club, Lexicon((*kept.rows, broken)), by=by)
    assert not Drill.objects.filter(club=ours.club).exists()


def test_a_sheet_that_is_no_sheet():
    with pytest.raises(Unreadable, match="Line 2 has 3 cells"):
        lexicon.from_csv("table,slug\na,b,c")
    with pytest.raises(Unreadable, match="unknown column 'colour'"):
        lexicon.from_csv("table,slug,whose,name,colour\na,b,club,d,e")
    assert lexicon.from_csv("").rows == ()


def test_the_vocabulary_is_skos(ours: Cast):
    base = "http://testserver/technique/"
    said = signed_in(ours.coach).get("/technique/own/take/ttl/").content.decode()
    graph = Graph().parse(data=said, format="turtle")

    fault = URIRef(f"{base}faults/breast-heels-low/")
    assert str(graph.value(fault, SKOS.prefLabel)) == "Lazy heels"
    others = {str(label) for label in graph.objects(fault, SKOS.altLabel)}
    assert "Heels stop half way" in others
    assert graph.value(fault, SKOS.broader) == URIRef(f"{base}checkpoints/breast-heels-high/")
    assert URIRef(f"{base}faults/breast-heels-low/") in graph.objects(
        URIRef(f"{base}breast/"), SKOS.member
    )
    concepts = set(graph.subjects(RDF.type, SKOS.Concept))
    assert len(concepts) == len(leaving.gather(ours.club).rows) + 15
    for concept in concepts:
        [label] = graph.objects(concept, SKOS.prefLabel)
        assert label not in set(graph.objects(concept, SKOS.altLabel))
        broader = set(graph.objects(concept, SKOS.broader))
        related = set(graph.objects(concept, SKOS.related))
        assert (broader | related) <= concepts, concept
        assert not broader & related
        assert concept not in set(graph.transitive_objects(concept, SKOS.broader)) - {concept}


@given(st.lists(rows, max_size=3))
def test_whatever_was_written_is_still_turtle(found: list[Row]):
    tame = [
        Row(
            table="drills", slug=f"s{at}", whose="club", name=row.name, text=row.text, also=row.also
        )
        for at, row in enumerate(found)
    ]
    said = skos.as_turtle(Lexicon(tuple(tame)), base="https://a.example/technique/", title="A")
    graph = Graph().parse(data=said, format="turtle")
    for row in tame:
        label = graph.value(
            URIRef(f"https://a.example/technique/drills/{row.slug}/"), SKOS.prefLabel
        )
        assert str(label) == row.name


def test_a_form_that_was_forged_is_refused(cast: Cast):
    client = signed_in(cast.coach, enforce_csrf_checks=True)
    sent = {"words": SimpleUploadedFile("words.toml", b"format = 1")}
    assert client.post("/technique/own/bring/", sent).status_code == 403
