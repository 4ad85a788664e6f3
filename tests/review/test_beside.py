"""What lies beside a clip: open items, and the last clip of the same stroke and view."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.items import observing
from portal.items.models import Observation, Verdict
from portal.people.access import actor_for
from portal.people.models import Consent, Swimmer, User
from portal.recordings.models import Clip, Session
from portal.review import beside
from portal.review.models import Mark
from portal.technique.models import Fault
from tests.cast import DAY, NOW, Cast, signed_in
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words


@pytest.fixture
def clip(cast: Cast) -> Clip:
    words.learn()
    return staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=50)


def session(cast: Cast, day: date, **fields) -> Session:
    given = {"squad": cast.squad, "pool": cast.pool, "course": "25 m", "created_by": cast.coach}
    return Session.objects.create(date=day, created_at=NOW, **{**given, **fields})


def earlier(cast: Cast, days: int = 7, *, squad=None, who: Swimmer | None = None, **fields) -> Clip:
    """The same stroke and view, so many days before."""
    day = session(cast, DAY - timedelta(days=days), squad=squad or cast.squad)
    other = staging.cut(filmed.ready(cast, session=day), who or cast.swimmer, first=5, last=90)
    Clip.objects.filter(pk=other.pk).update(**fields)
    return Clip.objects.get(pk=other.pk)


def see(cast: Cast, days: int, verdict: str, *, fault: str = "feet-low", who=None) -> None:
    tag = Fault.objects.get(slug=fault)
    code = uuid.uuid4()
    day = session(cast, DAY - timedelta(days=days))
    found = Observation(
        swimmer=who or cast.swimmer,
        session=day,
        date=day.date,
        stroke="breast",
        checkpoint=tag.checkpoint,
        fault=None if verdict == Verdict.GOOD else tag,
        verdict=verdict,
        source=Observation.Source.COMMENT,
        coach=cast.coach,
        review_code=code,
        at=NOW,
    )
    observing.observe(code, [found])


def asked(user: User, clip: Clip):
    return signed_in(user).get(f"/clips/{clip.code}/beside/")


def gets(user: User, clip: Clip) -> bool:
    return bool(asked(user, clip).json()["other"])


def test_it_works(as_coach: Client, clip: Clip, cast: Cast):
    other = earlier(cast)
    answer = as_coach.get(f"/clips/{clip.code}/beside/")
    text = answer.json()["other"]
    assert 'data-first="5"' in text
    assert 'data-last="90"' in text
    assert f"/clips/{other.code}/" in text
    assert str(other.recording.renditions.get().code) in text


def test_the_newest_one_of_the_same_kind(cast: Cast, clip: Clip):
    earlier(cast, 14)
    wanted = earlier(cast, 7)
    earlier(cast, 6, stroke="free")
    earlier(cast, 5, view="front-underwater")
    earlier(cast, 4, who=cast.mate)
    earlier(cast, 3, removed_at=NOW)
    earlier(cast, -1)
    found = beside.last_alike(clip, by=actor_for(cast.coach, at=NOW))
    assert found is not None
    assert found.clip == wanted


def test_earlier_on_the_same_evening_counts(cast: Cast, clip: Clip):
    later = staging.cut(clip.recording, cast.swimmer, first=60, last=90)
    found = beside.last_alike(later, by=actor_for(cast.coach, at=NOW))
    assert found is not None
    assert found.clip == clip
    assert beside.last_alike(clip, by=actor_for(cast.coach, at=NOW)) is None


def test_nothing_is_nothing(as_coach: Client, clip: Clip):
    answer = as_coach.get(f"/clips/{clip.code}/beside/")
    assert answer.json()["other"] == ""


@pytest.mark.parametrize("why", ["hidden", "held", "no copy", "thrown away"])
def test_what_may_not_be_seen_is_passed_over(cast: Cast, clip: Clip, why: str):
    older, newer = earlier(cast, 14), earlier(cast, 7)
    if why == "hidden":
        Clip.objects.filter(pk=newer.pk).update(hidden_at=NOW)
    elif why == "held":
        newer.recording.held_at = NOW
        newer.recording.save(update_fields=["held_at"])
    elif why == "thrown away":
        newer.recording.thrown_away_at = NOW
        newer.recording.save(update_fields=["thrown_away_at"])
    else:
        newer.recording.renditions.all().delete()
    found = beside.last_alike(clip, by=actor_for(cast.coach, at=NOW))
    assert found is not None
    assert found.clip == older


def test_a_no_to_filming_shuts_it(cast: Cast, clip: Clip):
    earlier(cast)
    Consent.objects.filter(swimmer=cast.swimmer, purpose=Consent.Purpose.FILM).update(
        is_given=False
    )
    assert not gets(cast.coach, clip)


def test_another_squads_clip_is_not_for_this_coach(cast: Cast, clip: Clip):
    earlier(cast, squad=cast.other_squad)
    assert not gets(cast.coach, clip)
    assert not gets(cast.assistant, clip)
    assert gets(cast.head_coach, clip)


@pytest.mark.parametrize("name", ["guardian", "swimmer_user", "other_coach", "rival_coach"])
def test_it_is_for_the_staff_of_the_squad(cast: Cast, clip: Clip, name: str):
    earlier(cast)
    assert asked(getattr(cast, name), clip).status_code == 404


def test_the_same_mark_on_both_lays_them_together(cast: Cast, clip: Clip):
    other = earlier(cast)
    for where, kind, frame in [
        (clip, "breakout", 30),
        (other, "breakout", 60),
        (clip, "left", 12),
        (other, "entry", 70),
    ]:
        Mark.objects.create(clip=where, kind=kind, frame=frame, set_by=cast.coach, set_at=NOW)
    found = beside.last_alike(clip, by=actor_for(cast.coach, at=NOW))
    assert found is not None
    assert found.align == (30, 60)
    Mark.objects.update(lifted_at=NOW)
    again = beside.last_alike(clip, by=actor_for(cast.coach, at=NOW))
    assert again is not None
    assert again.align is None


# ---- open items


def test_open_items_are_in_sight(as_coach: Client, clip: Clip, cast: Cast):
    see(cast, 21, Verdict.WORK_ON)
    see(cast, 14, Verdict.WORK_ON, fault="two-dolphins")
    see(cast, 7, Verdict.WORK_ON)
    [person] = beside.open_items(clip, [cast.swimmer], on=DAY)
    rows = {row.name: row for row in person.rows}
    feet = rows[Fault.objects.get(slug="feet-low").name]
    assert feet.signs == ["work on", "not looked at", "work on"]
    assert feet.looked == "seen in 2 of 2"
    part = as_coach.get(f"/clips/{clip.code}/beside/").json()["items"]
    assert "Open items" in part
    assert "seen in 2 of 2" in part
    clip.recording.renditions.all().delete()
    page = as_coach.get(f"/clips/{clip.code}/").content.decode()
    assert "seen in 2 of 2" in page, "where there is no film to wait for"


def test_the_filmstrip_shows_all_who_swim_in_it(as_coach: Client, clip: Clip, cast: Cast):
    strip = as_coach.get(f"/clips/{clip.code}/beside/").json()["strip"]
    assert strip["address"] == f"/recordings/{clip.recording.code}/strip.jpg"
    assert (strip["every"], strip["count"], strip["wide"]) == (15, 20, 160)
    filmed.copy(clip.recording, clip)
    mates = staging.cut(clip.recording, cast.mate, first=60, last=90)
    Consent.objects.filter(swimmer=cast.mate, purpose=Consent.Purpose.FILM).update(is_given=False)
    assert as_coach.get(f"/clips/{clip.code}/beside/").json()["strip"] is None, mates


def test_what_nobody_looked_at_for_long_says_so(clip: Clip, cast: Cast):
    see(cast, 60, Verdict.WORK_ON)
    [person] = beside.open_items(clip, [cast.swimmer], on=DAY)
    assert [row.word for row in person.rows] == ["not seen lately"]


def test_nobody_elses_and_no_other_stroke(clip: Clip, cast: Cast):
    see(cast, 7, Verdict.WORK_ON, who=cast.mate)
    Clip.objects.update(stroke="breast")
    [person] = beside.open_items(clip, [cast.swimmer], on=DAY)
    assert person.rows == []


def test_two_queries_for_however_many(clip: Clip, cast: Cast):
    see(cast, 7, Verdict.WORK_ON)
    with CaptureQueriesContext(connection) as one:
        beside.open_items(clip, [cast.swimmer], on=DAY)
    for days in (14, 21):
        see(cast, days, Verdict.NOT_LEGAL, fault="two-dolphins")
        see(cast, days, Verdict.WORK_ON, who=cast.mate)
    with CaptureQueriesContext(connection) as many:
        beside.open_items(clip, [cast.swimmer, cast.mate], on=DAY)
    assert len(many) == len(one) == 2
