"""The drills of the week and how things stand over time, in words for the family."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.items.models import ItemSummary, Verdict
from portal.people import consenting
from portal.people.models import Consent, Swimmer, User
from portal.recordings.models import Clip, Recording, Session
from portal.review import publishing
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast, signed_in
from tests.notes import staging


def out(cast: Cast, *, day: date = DAY, swimmer: Swimmer | None = None, **fields: Any) -> Review:
    """Published notes of one day with one filmed moment; another day, another recording."""
    session = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=day,
        created_by=cast.coach,
        created_at=NOW,
    )
    who = swimmer or cast.swimmer
    recording = staging.record(cast, frames=4)
    Recording.objects.filter(pk=recording.pk).update(session=session)
    recording.refresh_from_db()
    clip = staging.cut(recording, who, last=3)
    review = Review.objects.create(session=session, swimmer=who)
    staging.comment(review, clip, frame=2, **fields)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def work_on(**fields: Any) -> dict[str, Any]:
    given = {"words": staging.EARLY, "drill": staging.drill(), "dose": "6 x 15"}
    return {"verdict": Verdict.WORK_ON, "fault": staging.fault(), **given, **fields}


def page(person: User, name: str, child: Swimmer) -> str:
    answer = signed_in(person).get(reverse(f"notes:{name}", args=[child.code]))
    assert answer.status_code == 200
    return answer.content.decode()


def group(text: str, heading: str) -> str:
    found = re.search(rf">{heading}</h2>(.*?)</section>", text, re.DOTALL)
    return found.group(1) if found else ""


def test_it_works(cast: Cast):
    out(cast, **work_on(cue="Ride the line."))

    text = page(cast.guardian, "week", cast.swimmer)

    assert "Push and ride" in text
    assert "6 x 15" in text
    assert "Push off and do nothing else." in text
    assert "Ride the line." in text
    assert text.count("Take care.") == 2
    assert "Come up whenever you like." in text
    assert "Know where the wall is." in text


def test_without_a_drill_it_says_so(cast: Cast):
    assert "No drill to swim yet." in page(cast.guardian, "week", cast.swimmer)
    out(cast)
    assert "No drill to swim yet." in page(cast.guardian, "week", cast.swimmer)


def test_a_drill_stands_once_with_its_newest_dose(cast: Cast):
    out(cast, day=DAY - timedelta(days=3), **work_on(dose="2 x 15"))
    out(cast, **work_on())

    text = page(cast.guardian, "week", cast.swimmer)

    assert text.count("Push and ride") == 1
    assert "6 x 15" in text
    assert "2 x 15" not in text


def test_what_is_older_than_a_week_is_no_drill_of_this_week(cast: Cast):
    out(cast, day=DAY - timedelta(days=8), **work_on())
    out(cast)

    assert "Push and ride" not in page(cast.guardian, "week", cast.swimmer)


@pytest.mark.parametrize("name", ["week", "over_time"])
def test_a_draft_and_another_swimmers_notes_are_not_there(cast: Cast, name: str):
    draft = out(cast, **work_on(dose="9 x 99"))
    publishing.take_back(draft, by=cast.coach, at=NOW)
    out(cast, swimmer=cast.mate, **work_on(dose="7 x 77"))

    text = page(cast.guardian, name, cast.swimmer)

    assert "9 x 99" not in text
    assert "7 x 77" not in text
    assert "Patient line off the wall" not in text


def test_what_changed_and_how_it_stands(cast: Cast):
    out(cast, day=DAY - timedelta(days=7), **work_on())
    out(cast, day=DAY, **work_on())
    out(cast, day=DAY + timedelta(days=1), checkpoint=staging.checkpoint())

    text = page(cast.guardian, "over_time", cast.swimmer)

    assert "Heels close to the hips" in group(text, "Going well")
    assert "Heels close to the hips" in group(text, "What changed last time")
    assert "Patient line off the wall" in group(text, "Working on")
    assert "Seen in 2 of 2 looks." in group(text, "Working on")
    assert "Patient line" not in group(text, "What changed last time")
    assert text.count("<img") == 2


@pytest.mark.parametrize(
    ("fields", "heading", "words"),
    [
        ({"state": "fixed", "clean_run": 4}, "Looks sorted", "Clean the last 4 times."),
        (
            {"state": "improving", "faulty": 3, "looks": 5},
            "Working on",
            "Getting better. Seen in 3",
        ),
        ({"state": "returned", "faulty_run": 1}, "What changed last time", "Back on the list."),
        ({"last_look": date(2020, 10, 8)}, "Not looked at", "Nobody has looked since 8 October"),
    ],
)
def test_the_words_of_each_state(cast: Cast, fields: dict[str, Any], heading: str, words: str):
    out(cast, **work_on())
    ItemSummary.objects.update(**fields)

    assert words in group(page(cast.guardian, "over_time", cast.swimmer), heading)


def test_no_percent_no_rank_nothing_failed(cast: Cast):
    for day in range(6):
        out(cast, day=DAY - timedelta(days=day), **work_on())

    for name in ("week", "over_time"):
        text = page(cast.guardian, name, cast.swimmer)
        assert not re.search(r"\d\s*%|percent|\brank|fail|wrong|\bbad\b(?!\.)", text, re.IGNORECASE)


def test_a_no_takes_the_pictures(cast: Cast):
    for day in (7, 0):
        out(cast, day=DAY - timedelta(days=day), **work_on())
    assert page(cast.guardian, "over_time", cast.swimmer).count("<img") == 2

    consenting.answer(
        cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.co_guardian, at=NOW
    )

    assert "<img" not in page(cast.guardian, "over_time", cast.swimmer)


@pytest.mark.parametrize("name", ["week", "over_time", "shelf"])
def test_more_notes_ask_no_more(cast: Cast, name: str):
    counts = []
    for more in (2, 4):
        for day in range(more):
            out(cast, day=DAY - timedelta(days=day + 10 * more), **work_on())
        args = [] if name == "shelf" else [cast.swimmer.code]
        client = signed_in(cast.guardian)
        client.get(reverse(f"notes:{name}", args=args))
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse(f"notes:{name}", args=args))
        counts.append(len(asked))

    assert counts[0] == counts[1]


def test_the_shelf_names_the_last_three_sessions_and_no_film(cast: Cast):
    reviews = [out(cast, day=DAY - timedelta(days=day), **work_on()) for day in range(4)]
    for clip in Clip.objects.all():
        staging.copy_clip(clip)

    shelf = signed_in(cast.guardian).get(reverse("notes:shelf")).json()

    notes = [reverse("notes:notes", args=[review.code]) for review in reviews]
    assert [address for address in shelf["pages"] if address in notes] == notes[:3]
    stills = {
        f"{reverse('notes:still', args=[comment.code])}?small"
        for review in reviews[:3]
        for comment in review.comments.all()
    }
    assert set(shelf["stills"]) == stills
    assert "film" not in str(shelf)
    assert signed_in(cast.coach).get(reverse("notes:shelf")).json()["pages"] == []


def test_under_11_the_cue_is_the_one_for_the_young(cast: Cast):
    review = out(cast, **work_on(cue="Ride the line."))
    own = out(cast, day=DAY + timedelta(days=1), **work_on(cue="Like last week."))

    def read(notes: Review) -> str:
        return (
            signed_in(cast.guardian).get(reverse("notes:notes", args=[notes.code])).content.decode()
        )

    assert "Think: Ride the line." in read(review)
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(born=date(2016, 5, 3))
    assert "Think: Be an arrow." in read(review)
    assert "Think: Like last week." in read(own)


def test_what_the_phone_fetches_by_itself_is_noted_as_such(cast: Cast):
    review = out(cast)
    address = reverse("notes:notes", args=[review.code])

    signed_in(cast.guardian, headers={"Flagline-Keeps": "1"}).get(address)
    signed_in(cast.guardian).get(address)

    seen = Entry.objects.filter(thing="review", action="saw").order_by("id")
    assert [one.detail.get("what") for one in seen] == ["kept on a phone", None]
