"""The catalogue as a club reads it."""

from __future__ import annotations

import re
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.recordings.models import View
from portal.technique import catalogue, reading
from portal.technique.models import Checkpoint, Drill, Edition, Fault, Vocabulary
from portal.technique.reading import FOLDER
from portal.technique.viewing import VIEW_WORDS
from tests.cast import Cast, signed_in
from tests.technique.test_catalogue import MERGED, SPLIT, WHOLE, write

KNEES = "/technique/faults/breast-knees-wide/"


@pytest.fixture
def loaded(db) -> None:
    catalogue.load()


def text(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, address
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_it_works(as_coach: Client, loaded):
    assert "Breaststroke" in text(as_coach, "/technique/")
    stroke = text(as_coach, "/technique/breast/")
    assert "Knees about hip-wide" in stroke
    assert "Knees too wide" in stroke
    assert "Head lifted" not in stroke
    fault = text(as_coach, KNEES)
    assert "“Knees narrow, feet wide.”" in fault
    assert "Rear, under water; front, under water; from above" in fault
    assert "Inner knee sore? No breaststroke kick today" in fault
    assert "Published Vizsolyi 1987" in fault
    assert "judgement, to be read by a qualified coach" in fault
    assert "Kick with a buoy above the knees" in fault


def test_every_stroke_has_its_pages(as_coach: Client, loaded):
    entries = reading.read()
    for stroke in ("free", "back", "breast", "fly", "im"):
        page = as_coach.get(f"/technique/{stroke}/").content.decode()
        for fault in entries.faults:
            is_here = f'href="/technique/faults/{fault.slug}/"' in page
            assert is_here == bool({stroke, "any"} & {*fault.strokes}), fault.slug
        rules = as_coach.get(f"/technique/{stroke}/rules/").content.decode()
        for rule in entries.rules:
            is_here = f'href="/technique/rules/{rule.slug}/"' in rules
            assert is_here == bool({stroke, "any"} & {*rule.strokes}), rule.slug


def test_every_kind_of_term_has_a_page(as_coach: Client, loaded):
    entries = reading.read()
    for table in ("faults", "checkpoints", "drills", "rules"):
        for entry in getattr(entries, table)[::9]:
            page = as_coach.get(f"/technique/{table}/{entry.slug}/")
            assert page.status_code == 200, entry.slug


def test_what_is_not_there_is_not_found(as_coach: Client, loaded):
    for address in ("darts/", "darts/rules/", "faults/none/", "drills/none/", "rules/none/"):
        assert as_coach.get(f"/technique/{address}").status_code == 404, address


def test_drills_carry_their_cautions_and_things(as_coach: Client, loaded):
    pullout = text(as_coach, "/technique/drills/pullout-steps/")
    assert "Never a contest of who stays under longest" in pullout
    assert "6 x one pullout" in pullout
    entry = next(each for each in reading.read().drills if each.things == ("paddles",))
    assert "never with a sore shoulder" in text(as_coach, f"/technique/drills/{entry.slug}/")


def test_a_drill_that_names_equipment_says_what_to_beware_of_with_it(loaded):
    for drill in Drill.objects.prefetch_related("things"):
        assert bool(drill.equipment) == bool(drill.things.all()), drill.slug


def test_rules_at_hand_say_how_sure_we_are(as_coach: Client, loaded):
    kick = text(as_coach, "/technique/breast/rules/?phase=kick")
    assert "Feet turned out in the kick" in kick
    assert "Two-hand touch" not in kick
    assert "To be sure, film it Rear, under water. The push of the legs from behind." in kick
    assert "only a swim at race pace counts" in kick
    touch = text(as_coach, "/technique/rules/two-hand-touch/")
    for book in ("World Aquatics", "USA Swimming", "NFHS", "U.S. Masters Swimming"):
        assert book in touch
    assert "From memory, not checked." in touch


def test_every_rule_names_book_edition_and_trust(as_coach: Client, loaded):
    page = text(as_coach, "/technique/breast/rules/")
    rules = [rule for rule in reading.read().rules if {"breast", "any"} & {*rule.strokes}]
    assert page.count("To be sure, film it") == page.count("Our book") == len(rules)
    sure = len(re.findall(r"From memory, not checked|Read (?:second-hand|in a copy)", page))
    assert sure == sum(len(rule.citations) for rule in rules)


def test_families_read_the_edition_and_coaches_also_the_source(cast: Cast, loaded):
    address = "/technique/rules/two-hand-touch/"
    assert "undated copy" in text(signed_in(cast.coach), address)
    family = text(signed_in(cast.guardian), address)
    assert "undated copy" not in family
    assert "From memory, not checked." in family


def test_it_is_public_to_the_club_and_not_beyond(cast: Cast, loaded):
    for person in ("swimmer_user", "guardian", "second_adult", "welfare"):
        page = text(signed_in(cast.person(person)), KNEES)
        assert "Our own words for it" not in page, person
    for person in ("stranger", "former_guardian"):
        assert signed_in(cast.person(person)).get(KNEES).status_code == 404, person


def test_the_clubs_book_comes_first(cast: Cast, loaded):
    Vocabulary.objects.create(club=cast.club, rule_book="NFHS")
    [shown] = [
        line
        for line in text(signed_in(cast.coach), "/technique/rules/two-hand-touch/").split(
            "Our book "
        )
        if line.startswith("NFHS")
    ]
    assert "World Aquatics" in shown


def test_the_search_box_knows_how_people_talk(as_coach: Client, loaded):
    for typed, fault in {
        "his knees are to wide": "breast-knees-wide",
        "her bum sinks": "free-hips-low",
        "one hand at the wall": "touch-one-hand",
    }.items():
        page = as_coach.get("/technique/search/", {"q": typed}).content.decode()
        assert f"/technique/faults/{fault}/" in page, typed
    assert "Nothing here is called “xyzzy”" in text(as_coach, "/technique/search/?q=xyzzy")
    assert text(as_coach, "/technique/search/").count("fault") < 3


def test_what_was_merged_leads_on_and_what_was_split_says_where(as_coach: Client, tmp_path):
    catalogue.load(write(tmp_path, WHOLE))
    catalogue.load(write(tmp_path, MERGED))
    answer = as_coach.get("/technique/faults/low-heels/")
    assert answer.headers["Location"] == "/technique/faults/short-heels/"
    catalogue.load(write(tmp_path, SPLIT))
    page = as_coach.get("/technique/faults/low-heels/").content.decode()
    assert "Nobody said it." in page
    assert 'href="/technique/faults/lazy-heels/"' in page


@pytest.mark.parametrize(
    "address",
    [
        "/technique/breast/",
        "/technique/breast/rules/",
        "/technique/faults/low-heels/",
        "/technique/checkpoints/heels/",
        "/technique/drills/land-kick/",
        "/technique/search/?q=more",
        "/technique/own/",
        "/technique/own/take/csv/",
    ],
)
def test_queries_stay_the_same_however_many_words_there_are(
    as_coach: Client, tmp_path, address: str
):
    catalogue.load(write(tmp_path, WHOLE))
    as_coach.get(address)
    with CaptureQueriesContext(connection) as few:
        as_coach.get(address)
    point = Checkpoint.objects.get()
    for number in range(20):
        fault = Fault.objects.create(
            slug=f"more-{number}", name=f"More {number}", strokes=" breast ", phase="kick",
            checkpoint=point,
        )  # fmt: skip
        fault.rules.set(Fault.objects.get(slug="low-heels").rules.all())
        drill = Drill.objects.create(
            slug=f"drill-{number}", name=f"Swim {number}", strokes=" breast ", phase="kick"
        )
        fault.drills.add(drill, Drill.objects.get(slug="land-kick"))
    Edition.objects.update(stamp=uuid4())
    as_coach.get(address)
    with CaptureQueriesContext(connection) as many:
        assert as_coach.get(address).status_code == 200
    assert len(many) == len(few)


def test_views_are_called_as_on_the_sorting_table():
    here = {slug: str(word) for slug, word in VIEW_WORDS.items()}
    assert here == {view.value: str(view.label) for view in View}


def test_the_ledger_stands_beside_the_files():
    assert len((FOLDER / reading.LEDGER).read_text().splitlines()) >= 402
