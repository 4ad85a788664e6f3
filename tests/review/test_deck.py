"""Notes without film: the deck sheet, and what stands on it afterwards."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from portal.items.models import Observation, Verdict
from portal.people import consenting
from portal.people.models import Consent
from portal.review import publishing
from portal.review.models import Comment, Review
from tests.cast import NOW, Cast, signed_in
from tests.review import words


@pytest.fixture(autouse=True)
def known(db) -> words.Words:
    return words.learn()


def sheet(cast: Cast) -> str:
    return reverse("review:deck", args=[cast.session.code])


def notes(cast: Cast, stroke: str = "breast") -> str:
    address = reverse("review:deck_notes", args=[cast.session.code, cast.swimmer.code])
    return f"{address}?stroke={stroke}"


def typed(seen: str = "work:feet-low", **more: str) -> dict[str, str]:
    return {"seen": seen, "words": "Heels wait at the hips.", **more}


def test_it_works(as_coach: Client, cast: Cast, known: words.Words):
    assert (
        f'href="{sheet(cast)}"'
        in as_coach.get(reverse("recordings:session", args=[cast.session.code])).content.decode()
    )
    assert cast.swimmer.name in as_coach.get(sheet(cast)).content.decode()

    answer = as_coach.post(notes(cast), typed(cue="Up, then out.", focus="on"), follow=True)

    assert f"Kept for {cast.swimmer.first_name}." in answer.content.decode()
    note = Comment.objects.get()
    review = Review.objects.get(swimmer=cast.swimmer)
    assert (note.clip, note.frame, note.verdict) == (None, None, Verdict.WORK_ON)
    assert (note.fault, note.cue, note.author) == (known.feet, "Up, then out.", cast.coach)
    assert (list(note.reviews.all()), review.focus) == ([review], note)
    assert "1 note, draft" in as_coach.get(sheet(cast)).content.decode()


def test_it_goes_out_like_any_other(as_coach: Client, cast: Cast, known: words.Words):
    as_coach.post(notes(cast), typed())
    publishing.publish(Review.objects.get(swimmer=cast.swimmer), by=cast.coach, at=NOW)
    seen = Observation.objects.get()
    assert (seen.source, seen.fault, seen.stroke) == ("deck note", known.feet, "breast")
    page = as_coach.get(notes(cast)).content.decode()
    assert "a coach takes them back first" in page
    assert "A new note" not in page


def test_praise_carries_no_correction(as_coach: Client, cast: Cast, known: words.Words):
    as_coach.post(notes(cast), typed("good:heels-close", cue="Push!", focus="on", not_legal="on"))
    note = Comment.objects.get()
    assert (note.verdict, note.checkpoint, note.cue) == (Verdict.GOOD, known.heels, "")
    assert note.reviews.get().focus is None


def test_no_consent_to_film_is_no_hindrance(as_coach: Client, cast: Cast):
    consenting.answer(cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.guardian, at=NOW)
    assert cast.swimmer.name in as_coach.get(sheet(cast)).content.decode()
    as_coach.post(notes(cast), typed())
    assert Comment.objects.count() == 1


@pytest.mark.parametrize(
    "wrong", [{"seen": ""}, {"seen": "work:no-such-thing"}, {"dose": "d" * 41}, {"drill": "none"}]
)
def test_what_cannot_be_keeps_what_was_typed(as_coach: Client, cast: Cast, wrong: dict[str, str]):
    page = as_coach.post(notes(cast), typed() | wrong)
    assert page.status_code == 422
    assert "Heels wait at the hips." in page.content.decode()
    assert 'class="why"' in page.content.decode()
    assert not Comment.objects.exists()


def test_not_legal_of_a_fault_without_a_rule(as_coach: Client, cast: Cast):
    page = as_coach.post(notes(cast), typed(not_legal="on"))
    assert page.status_code == 422
    assert "breaks no rule we know of" in page.content.decode()


def test_nothing_is_added_to_notes_that_are_out(as_coach: Client, cast: Cast):
    as_coach.post(notes(cast), typed())
    publishing.publish(Review.objects.get(swimmer=cast.swimmer), by=cast.coach, at=NOW)
    page = as_coach.post(notes(cast), typed())
    assert page.status_code == 422
    assert Comment.objects.count() == 1


def test_taken_out_and_brought_back(as_coach: Client, cast: Cast):
    as_coach.post(notes(cast), typed())
    note = Comment.objects.get()
    address = reverse("review:take_out", args=[note.code])
    page = as_coach.post(address, {"act": "out"}, follow=True).content.decode()
    assert "taken out" in page
    note.refresh_from_db()
    assert note.dropped_at
    as_coach.post(address, {"act": "back"})
    note.refresh_from_db()
    assert note.dropped_at is None


def test_an_assistant_takes_out_only_what_is_their_own(as_coach: Client, cast: Cast):
    as_coach.post(notes(cast), typed())
    assistant = signed_in(cast.assistant)
    assert assistant.post(notes(cast), typed()).status_code == 302
    own = Comment.objects.get(author=cast.assistant)
    others = Comment.objects.get(author=cast.coach)
    assert assistant.post(reverse("review:take_out", args=[own.code])).status_code == 302
    assert assistant.post(reverse("review:take_out", args=[others.code])).status_code == 403


def test_nobody_of_another_squad_stands_on_the_sheet(as_coach: Client, cast: Cast):
    cast.mate.places.update(squad=cast.other_squad)
    assert cast.mate.name not in as_coach.get(sheet(cast)).content.decode()
    address = reverse("review:deck_notes", args=[cast.session.code, cast.mate.code])
    assert as_coach.get(address).status_code == 404


def test_an_unknown_stroke_is_the_usual_one(as_coach: Client, cast: Cast):
    assert as_coach.get(notes(cast, "sideways")).context["stroke"] == "free"
