"""The list of sessions and the form that opens one."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.recordings.models import Pool, Session, Showing
from tests.cast import DAY, NOW, Cast, signed_in
from tests.recordings import filmed

LIST = reverse("recordings:sessions")
NEW = reverse("recordings:new_session")


def test_it_works(cast: Cast, as_coach: Client):
    recording = filmed.ready(cast)
    clip = filmed.clip(cast, recording, cast.swimmer)
    filmed.clip(cast, recording, cast.mate)
    Showing.objects.create(clip=clip, swimmer=cast.swimmer, since=NOW)

    page = as_coach.get(LIST)

    assert page.status_code == 200
    [session] = page.context["sessions"]
    assert (session.takes, session.cuts, session.out) == (1, 2, 1)
    assert "Thu 19 Nov 2026" in page.content.decode()


def test_what_was_thrown_away_is_not_counted(cast: Cast, as_coach: Client):
    gone = filmed.ready(cast, thrown_away_at=NOW)
    filmed.clip(cast, gone, cast.swimmer)

    [session] = as_coach.get(LIST).context["sessions"]

    assert (session.takes, session.cuts, session.out) == (0, 0, 0)


def test_the_newest_day_comes_first(cast: Cast, as_coach: Client):
    older = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course="25 m",
        date=DAY - timedelta(days=2),
        created_by=cast.coach,
        created_at=NOW,
    )

    assert list(as_coach.get(LIST).context["sessions"]) == [cast.session, older]


def test_another_squads_coach_sees_none_of_it(cast: Cast):
    assert list(signed_in(cast.other_coach).get(LIST).context["sessions"]) == []


def test_no_session_yet(cast: Cast):
    page = signed_in(cast.other_coach).get(LIST)

    assert "No session yet" in page.content.decode()


def test_the_list_takes_no_more_queries_as_it_grows(cast: Cast, as_coach: Client):
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            as_coach.get(LIST)
        return len(caught)

    few = queries()
    for number in range(20):
        session = Session.objects.create(
            squad=cast.squad,
            pool=cast.pool,
            course="25 m",
            date=DAY - timedelta(days=number),
            created_by=cast.coach,
            created_at=NOW,
        )
        filmed.clip(cast, filmed.ready(cast, session=session), cast.swimmer)

    assert queries() == few


def typed(cast: Cast, **changes: object) -> dict[str, object]:
    return {
        "squad": cast.squad.pk,
        "date": "2026-11-25",
        "kind": "practice",
        "pool": cast.pool.pk,
        "new_pool": "",
        "course": "",
        "theme": "kick",
        **changes,
    }


def test_a_session_is_opened(cast: Cast, as_coach: Client):
    answer = as_coach.post(NEW, typed(cast))

    session = Session.objects.get(theme="kick")
    assert answer.headers["Location"] == reverse("recordings:session", args=[session.code])
    assert (session.squad, session.pool, session.course) == (cast.squad, cast.pool, "25 m")
    assert session.created_by == cast.coach


def test_it_is_offered_for_today_at_the_clubs_own_pool(cast: Cast, as_coach: Client):
    form = as_coach.get(NEW).context["form"]

    assert form.initial["pool"] == cast.pool
    assert form.initial["date"]


def test_a_pool_nobody_wrote_down_yet(cast: Cast, as_coach: Client):
    as_coach.post(NEW, typed(cast, pool="", new_pool="Harbour Lido", course="50 m"))

    pool = Pool.objects.get(name="Harbour Lido")
    assert (pool.club, pool.course) == (cast.club, "50 m")
    assert Session.objects.get(theme="kick").course == "50 m"


def test_a_pool_written_in_other_letters_is_the_same_pool(cast: Cast, as_coach: Client):
    as_coach.post(NEW, typed(cast, pool="", new_pool="quay street"))

    assert Session.objects.get(theme="kick").pool == cast.pool


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"date": "tomorrow"}, "date"),
        ({"kind": "party"}, "kind"),
        ({"pool": ""}, "pool"),
        ({"new_pool": "Harbour Lido"}, "new_pool"),
        ({"squad": ""}, "squad"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(cast: Cast, as_coach: Client, changes, field: str):
    before = Session.objects.count()

    page = as_coach.post(NEW, typed(cast, **changes))

    assert page.status_code == 422
    assert list(page.context["form"].errors) == [field]
    assert 'value="kick"' in page.content.decode()
    assert Session.objects.count() == before


def test_the_focus_goes_to_the_first_wrong_field(cast: Cast, as_coach: Client):
    page = as_coach.post(NEW, typed(cast, date="tomorrow", pool="")).content.decode()

    [wrong] = re.findall(r"<[^>]* autofocus[^>]*>", page)
    assert 'name="date"' in wrong
    assert "Choose a pool, or write the name of another one.<" in page
    assert "autofocus" not in as_coach.get(NEW).content.decode()


def test_squads_and_pools_of_others_are_not_offered(cast: Cast, as_coach: Client):
    page = as_coach.post(NEW, typed(cast, squad=cast.other_squad.pk))

    assert "squad" in page.context["form"].errors


def test_a_pool_of_another_club_is_refused(cast: Cast):
    elsewhere = Pool.objects.create(
        club=cast.rival_coach.memberships.get().club, name="Mere", course="25 m"
    )

    page = signed_in(cast.coach).post(NEW, typed(cast, pool=elsewhere.pk))

    assert "pool" in page.context["form"].errors


@pytest.mark.parametrize("url", [LIST, NEW])
@pytest.mark.parametrize("name", ["guardian", "stranger", "swimmer_user", "welfare"])
def test_who_coaches_nobody_finds_nothing(cast: Cast, url: str, name: str):
    assert signed_in(cast.person(name)).get(url).status_code == 404


@pytest.mark.parametrize("url", [LIST, NEW])
def test_strangers_at_the_door_are_sent_to_sign_in(db, url: str):
    assert Client().get(url).status_code == 302


def test_the_list_is_only_read(as_coach: Client):
    assert as_coach.post(LIST).status_code == 405
