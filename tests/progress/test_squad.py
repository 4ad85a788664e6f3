from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.items import rebuilding
from portal.items.models import ItemSummary, Observation
from portal.people.models import Swimmer
from portal.recordings.models import Clip
from portal.review.models import Review
from tests.cast import DAY, LONG_AGO, Cast, make_swimmer, signed_in
from tests.notes import staging
from tests.progress import looks
from tests.review import words


def address(cast: Cast, name: str = "squad") -> str:
    return reverse(f"progress:{name}", args=[cast.squad.code])


def children(cast: Cast, count: int) -> list[Swimmer]:
    return [
        make_swimmer(cast.club, cast.squad, f"Child {number:02}", born=LONG_AGO)
        for number in range(count)
    ]


def said(page) -> str:
    return " ".join(page.content.decode().split())


def test_it_works(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "work on")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal")
    looks.weekly(cast, children(cast, 1)[0], known.feet, "good")

    page = as_coach.get(address(cast))

    themes = page.context["muster"].themes
    assert [theme.term.name for theme in themes] == [known.dolphins.name, known.feet.name]
    assert "2 of 3 swimmers have a published review; nobody has looked at Noor." in said(page)
    assert (
        "Active for 1 of the 2 swimmers looked at; with the 1 nobody looked at it is 1 to 2 of 3."
        in said(page)
    )
    assert "Child 00" not in said(page).split("Not reviewed lately")[0]


def test_who_waits_and_who_was_filmed_only(as_coach: Client, cast: Cast):
    known = words.learn()
    for days, child in zip((2, 40), children(cast, 2), strict=True):
        looks.look(looks.session(cast, days_ago=days), child, known.feet, "good")
    staging.cut(staging.record(cast), cast.mate)

    page = as_coach.get(address(cast))

    found = page.context["muster"]
    waits = [(str(swimmer), since and since.days) for swimmer, since in found.silences]
    assert waits == [("Ines Falk", None), ("Noor Haan", None), ("Child 01", 40)]
    assert [(each.swimmer, each.day) for each in found.filmed] == [(cast.mate, DAY)]
    assert "filmed on 19 November, and no review of it is out" in said(page)

    Clip.objects.update(removed_at=cast.session.created_at)
    assert not as_coach.get(address(cast)).context["muster"].filmed


@pytest.mark.parametrize("count", [10, 60])
def test_under_twelve_queries(as_coach: Client, cast: Cast, count: int):
    known = words.learn()
    where = [looks.session(cast, days_ago=7 * week) for week in range(3)]
    for child in children(cast, count):
        for each in where:
            looks.look(each, child, known.feet, "work on")
        looks.look(where[0], child, known.dolphins, "not legal")

    with CaptureQueriesContext(connection) as spent:
        page = as_coach.get(address(cast))

    assert len(page.context["muster"].themes) == 2
    assert len(spent) < 12


def test_the_same_swimmers_then_and_now(as_coach: Client, cast: Cast):
    """Who is gone since would look like a success."""
    known = words.learn()
    stayed = children(cast, 3)
    for child in [*stayed, cast.swimmer]:
        looks.look(looks.session(cast, days_ago=35), child, known.feet, "work on")
    for child, verdict in zip(stayed, ("work on", "good", "good"), strict=True):
        looks.look(looks.session(cast, days_ago=3), child, known.feet, verdict)

    assert (
        "Of the 3 looked at in the last four weeks and in the four before, it was there for 3 then"
        " and for 1 now." in said(as_coach.get(address(cast)))
    )


def test_what_goes_together_is_counted(as_coach: Client, cast: Cast):
    known = words.learn()
    for number, child in enumerate(children(cast, 6)):
        looks.weekly(cast, child, known.feet, "work on")
        if number:
            looks.weekly(cast, child, known.dolphins, "work on")

    assert (
        "5 of the 5 swimmers with “Feet not brought up to the hips” also have “Two dolphin kicks”."
        in said(as_coach.get(address(cast))).replace("&#x27;", "'")
    )


def test_how_long_it_takes_once_enough_look_sorted(as_coach: Client, cast: Cast):
    known = words.learn()
    assert "Too few to say how long it takes: of 0 items" in said(as_coach.get(address(cast)))

    for child in children(cast, 5):
        for what in (known.feet, known.dolphins):
            looks.weekly(cast, child, what, *["work on"] * 3, *["good"] * 4)

    assert (
        "Of 10 items that kept coming back 10 look sorted: half were still open for at least 2"
        " looks after they had come back." in said(as_coach.get(address(cast)))
    )


def test_with_a_drill_and_without(as_coach: Client, cast: Cast):
    known = words.learn()
    [one, other, early] = children(cast, 3)
    given = looks.weekly(cast, one, known.feet, "work on", "work on", "good", "good")
    looks.weekly(cast, other, known.feet, *["work on", "work on", "good"] * 2)
    looks.weekly(cast, early, known.feet, "work on", "work on", "good")
    review = Review.objects.get(session=given[1], swimmer=one)
    staging.comment(review, None, verdict="work on", fault=known.feet, drill=known.hands)

    page = as_coach.get(address(cast))

    assert (
        "Clean in 1 of 1 with the drill and in 0 of 1 without: too few to compare: 10 on either"
        " side are needed. Coaches give drills to the stubborn ones, so this is no proof. Clean"
        " means 2 clean looks in a row within the next 4." in said(page)
    )
    assert "Heels to the hands: clean for 1 of the 1 item it was given for." in said(page)


@pytest.fixture
def dispute(cast: Cast) -> Clip:
    """On Ines's clip the coach saw it and the assistant did not."""
    known = words.learn()
    clip = staging.cut(staging.record(cast), cast.swimmer)
    review = Review.objects.create(
        session=cast.session, swimmer=cast.swimmer, state=Review.State.PUBLISHED
    )
    for coach, verdict, text in (
        (cast.coach, "work on", "The heels stop half way."),
        (cast.assistant, "good", "I think they come up."),
    ):
        made = staging.comment(
            review,
            clip,
            frame=12,
            verdict=verdict,
            words=text,
            checkpoint=known.heels,
            fault=known.feet if verdict == "work on" else None,
        )
        looks.look(
            cast.session,
            cast.swimmer,
            known.feet,
            verdict,
            coach=coach,
            clip=clip,
            comment_code=made.code,
        )
    return clip


def test_a_dispute_shows_both_and_is_settled(as_coach: Client, cast: Cast, dispute: Clip):
    squad = said(as_coach.get(address(cast)))
    assert "1 verdict counts for nothing until somebody settles it" in squad
    assert "Marta Lind and Dov Merrin: 1 clip seen by both: 30 or more" in squad

    page = as_coach.get(address(cast, "disputes"))
    assert "The heels stop half way." in said(page)
    assert "I think they come up." in said(page)
    grid = as_coach.get(reverse("progress:swimmer", args=[cast.swimmer.code]))
    assert "left out: two coaches saw it differently" in said(grid)

    [told] = page.context["disputes"]
    sent = {"dispute": told.dispute.name, "counts": "there"}
    page = as_coach.post(address(cast, "disputes"), sent, follow=True)

    assert "Settled. It counts from now on." in said(page)
    assert "Nothing to settle" in said(page)
    assert ItemSummary.objects.get().faulty == 1
    assert rebuilding.differences() == 0
    entry = Entry.objects.get(action=Entry.Action.CHANGED, thing_code=cast.swimmer.code)
    assert entry.actor_code == cast.coach.code

    page = as_coach.post(address(cast, "disputes"), {**sent, "counts": "clean"}, follow=True)
    assert "Somebody has settled this already." in said(page)
    assert ItemSummary.objects.get().faulty == 1
    assert "1 clip seen by both" in said(as_coach.get(address(cast))), "agreement counts all"


def test_an_assistant_reads_and_does_not_settle(cast: Cast, dispute: Clip):
    client = signed_in(cast.assistant)
    page = client.get(address(cast, "disputes"))
    [told] = page.context["disputes"]

    assert "This counts" not in said(page)
    sent = {"dispute": told.dispute.name, "counts": "there"}
    assert client.post(address(cast, "disputes"), sent).status_code == 403
    assert not Observation.objects.exclude(overruled_at=None).exists()


def test_another_squads_dispute_is_not_settled_here(cast: Cast, dispute: Clip):
    client = signed_in(cast.head_coach)
    [told] = client.get(address(cast, "disputes")).context["disputes"]
    cast.swimmer.places.update(ends=DAY - timedelta(days=1))

    sent = {"dispute": told.dispute.name, "counts": "there"}
    client.post(address(cast, "disputes"), sent)

    assert not Observation.objects.exclude(overruled_at=None).exists()
