from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.files.base import ContentFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.items.models import CheckAnswer, Observation
from portal.people.models import Membership, SquadPlace
from portal.progress import charting
from portal.review.models import Review
from tests.cast import DAY, LONG_AGO, Cast, make_swimmer, signed_in
from tests.notes import staging
from tests.progress import looks
from tests.review import words


def address(cast: Cast) -> str:
    return reverse("progress:swimmer", args=[cast.swimmer.code])


def names(page) -> list[str]:
    return [line.item.name for _title, lines in page.context["grid"].groups for line in lines]


def test_it_works(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "", "good")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal")

    page = as_coach.get(address(cast))

    text = page.content.decode()
    assert names(page) == ["Two dolphin kicks", "Feet not brought up to the hips"]
    assert "seen in 1 of the 2 sessions where you looked" in text
    assert "clean the last time you looked" in text
    assert 'aria-label="not looked at"' in text
    assert "4 sessions with published notes since 5 November 2026." in text
    assert "2 items are open, 1 looks not legal" in text
    assert Entry.objects.filter(action=Entry.Action.SAW, thing_code=cast.swimmer.code).exists()


def test_who_was_never_looked_at(as_coach: Client, cast: Cast):
    Review.objects.create(session=cast.session, swimmer=cast.swimmer)

    text = as_coach.get(address(cast)).content.decode()

    assert "No review of Ines is out yet: nobody has looked." in text
    assert "<table" not in text


def test_a_gap_is_drawn_and_said(as_coach: Client, cast: Cast):
    known = words.learn()
    for days in (charting.GAP_DAYS + 8, 7, 0):
        looks.look(looks.session(cast, days_ago=days), cast.swimmer, known.feet, "work on")

    page = as_coach.get(address(cast))

    assert [head.column.after_gap for head in page.context["grid"].heads] == [False, True, False]
    assert page.content.decode().count("after a gap of more than 28 days") == 2, "and in the table"


def test_ten_sessions_are_drawn_and_all_are_counted(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, *["work on"] * 4, *["good"] * 2, *[""] * 8)

    page = as_coach.get(address(cast))
    [(_title, [line])] = page.context["grid"].groups

    assert len(page.context["grid"].heads) == len(line.cells) == 10
    assert line.seen == "seen in 4 of the 6 sessions where you looked"
    assert "and 4 older sessions" in page.content.decode()

    page = as_coach.get(f"{address(cast)}?sessions=all")
    assert len(page.context["grid"].heads) == 14
    assert 'tabindex="0" role="region"' in page.content.decode()


def test_a_month_is_named_where_it_begins(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, *["good"] * 13)

    heads = as_coach.get(address(cast)).context["grid"].heads

    named = [head.column.date.month for head in heads if head.starts_month]
    assert named == [9, 10, 11]


def move_up(cast: Cast) -> None:
    """Ines swims with the Seniors from the cast's day on."""
    cast.swimmer.places.update(ends=DAY)
    SquadPlace.objects.create(swimmer=cast.swimmer, squad=cast.other_squad, starts=DAY)


def test_the_new_squad_reads_all_and_the_old_one_its_own(as_coach: Client, cast: Cast, settings):
    known = words.learn()
    looks.look(looks.session(cast, days_ago=7), cast.swimmer, known.feet, "work on")
    after = looks.session(cast, squad=cast.other_squad)
    looks.look(after, cast.swimmer, known.dolphins, "not legal")
    move_up(cast)

    new = signed_in(cast.other_coach).get(address(cast))
    assert names(new) == ["Two dolphin kicks", "Feet not brought up to the hips"]
    assert [head.may_read for head in new.context["grid"].heads] == [False, True]

    old = as_coach.get(address(cast))
    assert names(old) == ["Feet not brought up to the hips"]
    assert "Two dolphin kicks" not in old.content.decode()


@pytest.mark.parametrize(
    "person", ["other_coach", "rival_coach", "welfare", "second_adult", "guardian", "swimmer_user"]
)
def test_others_find_nothing(cast: Cast, person: str):
    looks.look(cast.session, cast.swimmer, words.learn().feet, "work on")
    client = signed_in(getattr(cast, person))

    assert client.get(address(cast)).status_code == 404
    assert client.get(reverse("progress:open_items", args=[cast.squad.code])).status_code == 404


def test_a_squad_that_was_left_before_anything_was_published_sees_nothing(
    as_coach: Client, cast: Cast
):
    looks.look(cast.session, cast.swimmer, words.learn().feet, state=Review.State.DRAFT)
    move_up(cast)

    assert as_coach.get(address(cast)).status_code == 404


def test_a_role_that_ended_opens_nothing(as_coach: Client, cast: Cast):
    Membership.objects.filter(user=cast.coach).update(ends=date(2026, 1, 1))

    assert as_coach.get(address(cast)).status_code == 404
    assert as_coach.get(reverse("progress:swimmers")).status_code == 404


def test_the_list_of_swimmers(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on")

    page = as_coach.get(reverse("progress:swimmers"))

    text = page.content.decode()
    assert [str(squad) for squad, _said, _rows in page.context["squads"]] == ["Juniors"]
    assert "1 of 2 swimmers has a published review; nobody has looked at Noor." in text
    assert "last review 19 Nov 2026" in text
    assert "1 item is open" in text
    assert "no review yet" in text


def test_the_head_coach_sees_every_squad_of_the_club_and_no_other(cast: Cast):
    page = signed_in(cast.head_coach).get(reverse("progress:swimmers"))
    assert [str(row[0]) for row in page.context["squads"]] == ["Juniors", "Seniors"]
    assert "Nobody swims in this squad today." in page.content.decode()

    away = signed_in(cast.rival_coach).get(reverse("progress:swimmers"))
    assert away.context["squads"] == []
    assert "No squad is yours yet" in away.content.decode()


def test_the_open_items_of_a_squad(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "good", "", "work on", "", "good")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal", "good", "good", "good")

    page = as_coach.get(reverse("progress:open_items", args=[cast.squad.code]))

    text = page.content.decode()
    assert "Feet not brought up to the hips" in text
    assert "Two dolphin kicks" not in text, "three clean looks over a fortnight closed it"
    assert "oldest first: " in text
    assert "seen in 2 of the 4 sessions where you looked, clean the last time you looked" in text
    assert "No review of Noor is out yet: nobody has looked." in text


def test_nothing_open_is_said(as_coach: Client, cast: Cast):
    looks.weekly(cast, cast.swimmer, words.learn().feet, "good")

    text = as_coach.get(reverse("progress:open_items", args=[cast.squad.code])).content.decode()

    assert "Nothing is open. One session with published notes" in text


def test_a_squad_without_swimmers(cast: Cast):
    page = signed_in(cast.other_coach).get(
        reverse("progress:open_items", args=[cast.other_squad.code])
    )

    assert "Nobody swims in this squad today." in page.content.decode()


@pytest.mark.parametrize(
    ("name", "most"), [("swimmers", 12), ("swimmer", 16), ("open_items", 12), ("squad", 11)]
)
def test_pages_cost_the_same_for_many_swimmers(as_coach: Client, cast: Cast, name: str, most: int):
    known = words.learn()
    squad = cast.squad.code
    code = {"swimmer": cast.swimmer.code, "open_items": squad, "squad": squad}.get(name)
    url = reverse(f"progress:{name}", args=[code] if code else [])
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "good")

    with CaptureQueriesContext(connection) as few:
        as_coach.get(url)
    for number in range(20):
        swimmer = make_swimmer(cast.club, cast.squad, f"Child {number}", born=LONG_AGO)
        looks.weekly(cast, swimmer, known.feet, "work on", "not legal")
        looks.weekly(cast, cast.swimmer, known.dolphins, "not legal")
    with CaptureQueriesContext(connection) as many:
        as_coach.get(url)

    assert len(many) == len(few) <= most


def test_words_of_a_coach_stay_words(as_coach: Client, cast: Cast):
    cast.swimmer.first_name = "<b>Ines</b>"
    cast.swimmer.save(update_fields=["first_name"])
    looks.weekly(cast, cast.swimmer, words.learn().feet, "work on")

    for url in (
        address(cast),
        reverse("progress:swimmers"),
        reverse("progress:open_items", args=[cast.squad.code]),
    ):
        assert b"<b>Ines" not in as_coach.get(url).content


def test_one_stroke_at_a_time_and_one_item_in_full(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "work on", "good")
    looks.weekly(cast, cast.swimmer, known.dolphins, "not legal")
    looks.look(cast.session, cast.swimmer, known.feet, "work on", stroke="fly")

    page = as_coach.get(address(cast))
    assert [(tab.label, tab.open, tab.is_current) for tab in page.context["tabs"]] == [
        ("breaststroke", "2 open", True),
        ("butterfly", "1 open", False),
    ]
    assert page.context["panel"].item.name == "Two dolphin kicks"

    feet = next(n for n in page.context["history"].items if n.name == known.feet.name)
    page = as_coach.get(address(cast), {"stroke": "breast", "item": feet.slug})
    assert page.context["panel"].sentences == [
        "Seen in 2 of the 3 sessions where you looked.",
        "Clean the last time you looked.",
        "If nothing had changed, 1 clean look would still happen about 1 time in 6.",
        "3 clean in a row, over 14 days or more.",
    ]
    assert "3 looks are too few for a band: it takes 5." in page.content.decode()

    assert names(as_coach.get(address(cast), {"stroke": "fly"})) == [known.feet.name]
    assert len(names(as_coach.get(address(cast), {"stroke": "crawl", "item": "x"}))) == 2


def test_a_rate_is_drawn_from_five_looks_on(as_coach: Client, cast: Cast):
    looks.weekly(cast, cast.swimmer, words.learn().feet, *["work on", "good"] * 3)

    page = as_coach.get(address(cast))

    panel = page.context["panel"]
    assert len(panel.curve.dots) == 6
    assert panel.rate.startswith("Lately about 4 in 10, roughly 1 to 8;")
    assert page.content.decode().count("<polyline") == 2


def test_no_rate_while_few_open_items_are_answered(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, *["work on", "good"] * 3)
    for number, answer in enumerate(["none", "none", "clean"]):
        CheckAnswer.objects.create(
            review_code=Observation.objects.all()[number].review_code,
            swimmer=cast.swimmer,
            session=cast.session,
            stroke="breast",
            checkpoint=known.heels,
            fault=known.feet,
            answer=answer,
        )

    page = as_coach.get(address(cast))

    assert "<polyline" not in page.content.decode()
    assert page.context["panel"].rate.startswith(
        "No rate yet: of 3 open items that were asked about before a review went out, 1 were"
    )


def test_who_looks_for_the_first_time_is_marked(as_coach: Client, cast: Cast):
    known = words.learn()
    for days, coach in ((14, cast.coach), (7, cast.coach), (0, cast.assistant)):
        looks.look(
            looks.session(cast, days_ago=days), cast.swimmer, known.feet, "good", coach=coach
        )

    page = as_coach.get(address(cast))

    assert [head.marks for head in page.context["grid"].heads] == [
        [],
        [],
        ["first looked at by Dov Merrin"],
    ]
    assert "compare with care" in page.content.decode()


def test_the_season_has_a_mark_a_session_and_the_same_in_words(as_coach: Client, cast: Cast):
    known = words.learn()
    looks.weekly(cast, cast.swimmer, known.feet, "work on", "good")
    looks.look(looks.session(cast, days_ago=400), cast.swimmer, known.feet, "work on")

    line = as_coach.get(address(cast)).context["timeline"]

    assert [(tick.day, tick.words) for tick in line.ticks] == [
        (DAY - timedelta(days=7), "1 item was there, 0 were clean"),
        (DAY, "0 items were there, 1 was clean"),
    ]
    assert [day.month for _x, day in line.months] == [9, 10, 11]
    assert line.ticks[0].x < line.ticks[1].x == 976, "today is where the line ends"


def test_what_was_tried_with_its_caution_and_then_and_now(as_coach: Client, cast: Cast):
    known = words.learn()
    [first, last] = looks.weekly(cast, cast.swimmer, known.feet, "work on", "work on")
    for where in (first, last):
        review = Review.objects.get(session=where)
        made = staging.comment(
            review,
            None,
            verdict="work on",
            fault=known.feet,
            checkpoint=known.heels,
            drill=known.hands if where == first else None,
            dose="6 x 15",
        )
        made.still.save("still.jpg", ContentFile(b"a still"), save=True)

    page = as_coach.get(address(cast))

    [tried] = page.context["told"].tries
    assert (tried.drill, tried.dose, tried.since) == (
        known.hands,
        "6 x 15",
        "still there on the next look",
    )
    assert [picture.day for picture in page.context["told"].pictures] == [first.date, last.date]
    assert "Inner knee sore? No kick today." in page.content.decode()
