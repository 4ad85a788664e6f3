"""Finding what somebody works with, and nothing else."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.clubhouse import dating, searching
from portal.clubhouse.dating import Day
from portal.clubhouse.folding import begins, folded
from portal.clubhouse.searching import Found
from portal.people.access import actor_for
from portal.people.models import Squad, SquadPlace, Swimmer
from portal.recordings.models import Pool, Session
from tests.cast import DAY, NOW, Cast, make_swimmer


def signed_in(cast: Cast, name: str) -> Client:
    client = Client()
    client.force_login(getattr(cast, name))
    return client


def found(cast: Cast, typed: str, by: str = "coach") -> Found:
    return searching.search(typed, by=actor_for(getattr(cast, by), at=NOW))


def test_it_works(cast: Cast):
    page = signed_in(cast, "coach").get("/search/", {"q": "ine"}).content.decode()

    assert f'<a href="/swimmers/{cast.swimmer.code}/">Ines Falk</a>' in page
    assert "Noor" not in page


def test_every_staff_page_has_the_box(cast: Cast):
    page = signed_in(cast, "coach").get("/sessions/").content.decode()

    [form] = re.findall(r'<form class="seek[^>]*>', page)
    assert 'action="/search/"' in form


@pytest.mark.parametrize("typed", ["ines", "INES f", "falk in", "  Fal  "])
def test_a_name_is_found_by_how_it_begins(cast: Cast, typed: str):
    assert found(cast, typed).swimmers == [cast.swimmer]


@pytest.mark.parametrize("typed", ["nes", "ines k", "falke", "%", "_", "*", "'", ""])
def test_what_begins_nothing_finds_nothing(cast: Cast, typed: str):
    assert not found(cast, typed)


@pytest.mark.parametrize("typed", ["zoe", "Zoë", "ZOË", "oster", "Ø", "strasse", "zolc"])
def test_accents_and_capitals_do_not_matter(cast: Cast, typed: str):
    zoe = make_swimmer(cast.club, cast.squad, "Zoë Østergård-Straße Żółć", born=date(2013, 1, 1))

    assert found(cast, typed).swimmers == [zoe]


def test_letters_that_stand_apart_are_folded():
    assert folded("Łucja Đặng-Þór") == "lucja dang thor"
    assert begins("dang", "Łucja Đặng") and not begins("", "Łucja")


def test_a_squad_is_found(cast: Cast):
    assert found(cast, "jun").squads == [cast.squad]
    assert found(cast, "sen").squads == []
    assert found(cast, "sen", by="head_coach").squads == [cast.other_squad]


@pytest.mark.parametrize(
    "typed", ["2026-11-19", "19.11.", "19/11/2026", "19 nov", "19th November", "nov 2026", "kick"]
)
def test_a_session_is_found_by_day_or_theme(cast: Cast, typed: str):
    for days, theme in [(31, "breathing"), (-40, "")]:
        another(cast, DAY + timedelta(days=days), theme=theme)

    assert found(cast, typed).sessions == [cast.session]


def another(cast: Cast, day: date, **other: object) -> Session:
    return Session.objects.create(
        **{
            "squad": cast.squad,
            "pool": cast.pool,
            "course": "25 m",
            "date": day,
            "created_by": cast.coach,
            "created_at": NOW,
            **other,
        }
    )


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("2026-11", Day(11, year=2026)),
        ("3.5.", Day(5, day=3)),
        ("may", Day(5)),
        ("1st March 2025", Day(3, 1, 2025)),
        ("31/13", None),
        ("32 May", None),
        ("0000-01-01", None),
        ("marta", None),
        ("2026-11-19; x", None),
        ("²/²", None),
    ],
)
def test_days_as_people_type_them(typed: str, day: Day | None):
    assert dating.read(typed) == day


def test_a_swimmer_who_moved_is_found_by_the_new_coach_alone(cast: Cast):
    places = SquadPlace.objects.filter(swimmer=cast.swimmer)
    places.update(squad=cast.other_squad)

    assert found(cast, "ines").swimmers == []
    assert found(cast, "ines", by="other_coach").swimmers == [cast.swimmer]

    places.update(ends=DAY)
    assert found(cast, "ines", by="other_coach").swimmers == []
    page = signed_in(cast, "head_coach").get("/search/", {"q": "ines"}).content.decode()
    assert f"/swimmers/{cast.swimmer.code}/people/" in page
    assert "in no squad today" in page


def test_only_the_head_coach_finds_who_has_left(cast: Cast):
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(left_on=DAY)

    assert found(cast, "ines").swimmers == []
    assert found(cast, "ines", by="head_coach").swimmers == [cast.swimmer]


@pytest.mark.parametrize("name", ["coach", "assistant", "other_coach", "head_coach", "rival_coach"])
def test_nobody_finds_what_is_of_another_club_or_squad(cast: Cast, name: str):
    rivals = cast.rival_coach.memberships.get().club
    for club, word in [(rivals, "Theirs"), (cast.club, "Elsewhere")]:
        squad = Squad.objects.create(club=club, name=f"{word} squad")
        make_swimmer(club, squad, f"{word} Child", born=date(2012, 1, 1))
        pool = Pool.objects.create(club=club, name=f"{word} pool", course="25 m")
        another(cast, DAY, squad=squad, pool=pool, theme=f"{word} theme")
    meant = {"rival_coach": {"Theirs"}, "head_coach": {"Elsewhere"}}.get(name, set())

    for word in ("Theirs", "Elsewhere"):
        everything = found(cast, word, by=name)
        counts = [len(each) for each in (everything.swimmers, everything.squads)]
        assert [*counts, len(everything.sessions)] == ([1, 1, 1] if word in meant else [0, 0, 0])
    # A day is everybody's word.
    page = signed_in(cast, name).get("/search/", {"q": "2026-11-19"}).content.decode()
    assert {word for word in ("Theirs", "Elsewhere") if word in page} == meant


def test_a_larger_club_costs_no_more_queries(cast: Cast):
    client = signed_in(cast, "coach")

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            client.get("/search/", {"q": "i"})
        return len(asked)

    few = queries()
    for number in range(30):
        make_swimmer(cast.club, cast.squad, f"Ib{number} Moor", born=date(2012, 1, 1))
        another(cast, DAY - timedelta(days=number), theme="into the wall")

    assert queries() == few
    page = client.get("/search/", {"q": "i"}).content.decode()
    assert page.count("/swimmers/") - 1 == searching.MOST
    assert "There is more." in page


def test_nothing_found_says_so_and_keeps_what_was_typed(cast: Cast):
    page = signed_in(cast, "coach").get("/search/", {"q": '"><b>nobody'}).content.decode()

    assert "Nothing that you work with begins like" in page
    assert 'value="&quot;&gt;&lt;b&gt;nobody"' in page


def test_it_is_for_staff_sixty_times_a_minute(cast: Cast):
    assert signed_in(cast, "guardian").get("/search/", {"q": "ines"}).status_code == 404
    client = signed_in(cast, "coach")
    # Two minutes may share them, and each lets sixty through.
    answers = [client.get("/search/", {"q": "ines"}).status_code for _ in range(121)]

    assert set(answers) == {200, 429}
    assert answers.count(200) >= 60
