"""What waits on the desk beside tonight's film."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from portal.people.models import Consent, Squad
from portal.recordings.models import Session
from portal.review import commenting, handing
from portal.review.lapsing import LONG, lapsed
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast, make_swimmer, signed_in
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words

TODAY = date(2026, 11, 19)


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def begun(cast: Cast, **fields: Any) -> Review:
    words.learn()
    clip = staging.cut(filmed.ready(cast), cast.swimmer)
    fields = {
        "frame": 3,
        "verdict": "work on",
        "tag": "feet-low",
        "words": "Half way up.",
        **fields,
    }
    return commenting.write(clip, by=cast.assistant, at=NOW, **fields).reviews.get()


# ---- nothing lately


def test_who_never_had_a_review_comes_first_then_the_longest():
    last = {"a": ago(9), "b": None, "c": ago(34), "d": ago(29), "e": ago(9), "f": ago(8)}
    found = lapsed(last, on=TODAY)
    assert list(found) == ["b", "c", "d"]
    assert found["b"] is None


def test_twice_the_median_is_long_where_reviews_are_frequent():
    last = {"a": ago(9), "b": ago(9), "c": ago(19), "d": ago(18)}
    # The median of 9, 9, 18 and 19 is 13.5 days; of 9, 9, 9 and 19 it is 9.
    assert lapsed(last, on=TODAY) == {}
    assert set(lapsed({**last, "d": ago(9)}, on=TODAY)) == {"c"}


def test_after_a_week_at_the_earliest():
    assert lapsed({"a": ago(0), "b": ago(0), "c": ago(7)}, on=TODAY) == {}
    assert set(lapsed({"a": ago(0), "b": ago(0), "c": ago(8)}, on=TODAY)) == {"c"}


@given(st.dictionaries(st.integers(), st.none() | st.integers(0, 400)))
def test_whoever_waits_longer_than_28_days_is_never_left_out(days: dict[int, int | None]):
    found = lapsed({who: None if n is None else ago(n) for who, n in days.items()}, on=TODAY)
    assert all(who in found for who, n in days.items() if n is None or n > LONG.days)
    assert set(found) <= set(days)
    assert all(n > 7 for who in found if (n := days[who]) is not None)


def test_the_desk_names_them_and_says_why(as_coach: Client, cast: Cast):
    review = begun(cast)
    unasked = make_swimmer(cast.club, cast.squad, "Unasked Child", born=date(2013, 1, 1))
    Consent.objects.filter(swimmer=cast.mate, purpose=Consent.Purpose.FILM).delete()

    page = as_coach.get("/")

    found = {one.swimmer: (one.words, one.hint) for one in page.context["lapses"]}
    assert found[cast.swimmer] == ("never", "filmed, notes not out")
    assert "no consent to film" in found[cast.mate][1]
    assert "no consent to film" in found[unasked][1]
    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)
    out = as_coach.get("/").context["lapses"]
    assert cast.swimmer not in {one.swimmer for one in out}


# ---- drafts to check


def test_what_was_handed_over_waits_for_the_coach(as_coach: Client, cast: Cast):
    review = begun(cast)
    assert as_coach.get("/").context["drafts"] == []

    handing.hand_over(review, by=cast.assistant, at=NOW)

    page = as_coach.get("/")
    [waiting] = page.context["drafts"]
    assert (waiting.said, waiting.praised, waiting.quote) == (1, 0, "Half way up.")
    text = page.content.decode()
    assert "Drafts to check" in text
    assert "no praise yet" in text
    assert page.context["next"].address == f"/reviews/{review.code}/publish/"
    assert page.context["next"].words == "Check Ines"


@pytest.mark.parametrize("name", ["assistant", "other_coach", "rival_coach"])
def test_it_waits_for_nobody_else(cast: Cast, name: str):
    handing.hand_over(begun(cast), by=cast.coach, at=NOW)
    page = signed_in(getattr(cast, name)).get("/")
    assert not page.context.get("drafts")
    assert "Drafts to check" not in page.content.decode()


def test_for_an_assistant_what_was_handed_over_is_done(cast: Cast):
    review = begun(cast)
    client = signed_in(cast.assistant)
    assert client.get("/").context["next"].words == "Go on with Ines"
    handing.hand_over(review, by=cast.assistant, at=NOW)
    assert client.get("/").context["next"] is None


def test_what_is_checked_is_published_next(as_coach: Client, cast: Cast):
    review = begun(cast)
    handing.check(review, by=cast.coach, at=NOW)
    assert as_coach.get("/").context["next"].words == "Publish Ines"


def test_a_change_makes_what_was_checked_a_draft_again(cast: Cast):
    review = begun(cast)
    handing.check(review, by=cast.coach, at=NOW)
    comment = review.comments.get()
    commenting.change(comment, version=comment.version, by=cast.coach, at=NOW, words="Higher.")
    review.refresh_from_db()
    assert review.state == Review.State.DRAFT


# ---- sessions


def test_sessions_say_how_far_they_are(as_coach: Client, cast: Cast):
    review = begun(cast)
    staging.cut(staging.record(cast), cast.mate)
    [pace] = as_coach.get("/").context["paces"]
    assert (pace.filmed, pace.begun, pace.out, pace.words) == (2, 1, 0, "0 of 2 out")

    Review.objects.filter(pk=review.pk).update(state=Review.State.PUBLISHED)

    [pace] = as_coach.get("/").context["paces"]
    assert (pace.beads, pace.words) == (["out", "none"], "1 of 2 out")


def test_a_session_in_which_nothing_happened_is_left_out(as_coach: Client, cast: Cast):
    begun(cast)
    Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY + timedelta(days=2),
        created_by=cast.coach,
        created_at=NOW,
    )
    assert [pace.session for pace in as_coach.get("/").context["paces"]] == [cast.session]


def test_sessions_of_other_squads_are_out_of_sight(cast: Cast):
    begun(cast)
    Squad.objects.filter(pk=cast.other_squad.pk).update(name="Seniors")
    page = signed_in(cast.other_coach).get("/")
    assert page.context["evening"] is None
