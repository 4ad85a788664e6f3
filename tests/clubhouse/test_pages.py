"""The club's own pages: what is missing, and setting it right."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from portal.audit.models import Entry
from portal.clubhouse import missing
from portal.mailroom import sending
from portal.mailroom.models import OutgoingMail
from portal.people import recent
from portal.people.models import Club, Consent, Guardianship, Membership, Season, Squad, User
from portal.recordings.models import Pool
from portal.roster import moving
from tests.cast import DAY, NOW, Cast, join, make_swimmer
from tests.factors import give_app

PAGES = ["", "settings/", "seasons/", "pools/", "squads/", "left/", "people/"]


@pytest.fixture
def head(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.head_coach)
    session = client.session
    session[recent.KEY] = timezone.now().timestamp()
    session.save()
    return client


def open_steps(club: Club) -> list[str]:
    return [step.name for step in missing.steps(club, on=DAY) if not step.is_done]


def test_it_works(cast: Cast, head: Client):
    assert open_steps(cast.club) == [
        "Mail leaves",
        "Policy on film and pictures",
        "Swimmers in each squad",
    ]
    page = head.get("/club/").content.decode()
    assert "things are missing before you film" in page
    assert "Next: Mail leaves." in page

    head.post("/club/mail/")
    for mail in OutgoingMail.objects.filter(kind="trial"):
        sending.send(mail, at=NOW)
    cast.club.policy, cast.club.policy_reviewed_on = "Two adults.", DAY
    cast.club.save()

    assert open_steps(cast.club) == ["Swimmers in each squad"]
    assert "Next: Swimmers in each squad." in head.get("/club/").content.decode()


def test_the_desk_says_how_much_is_missing(cast: Cast, head: Client):
    assert "3 things are missing before you film" in head.get("/").content.decode()

    client = Client()
    client.force_login(cast.coach)
    assert "missing before you film" not in client.get("/").content.decode()


def test_the_second_step_of_sign_in_counts_where_it_is_asked_for(cast: Cast, settings):
    settings.STAFF_FACTOR = True
    for member in Membership.objects.filter(club=cast.club).exclude(user=cast.coach):
        give_app(member.user)
    [step] = [s for s in missing.steps(cast.club, on=DAY) if "second step" in s.name]
    assert step.said.startswith("Still without: Marta Lind.")

    give_app(cast.coach)
    assert "A second step of sign-in for the staff" not in open_steps(cast.club)


def test_who_heads_two_clubs_stays_in_the_one_they_chose(cast: Cast, head: Client):
    second = Club.objects.create(name="Zander", zone="Europe/Paris", course="25 m")
    join(cast.head_coach, second, Membership.Role.HEAD_COACH)
    page = head.get(f"/club/?club={second.code}")
    assert page.context["club"] == second
    assert f'"?club={cast.club.code}"' in page.content.decode()
    ways = re.findall(r'(?:href|action)="(/club/[^"]*)"', page.content.decode())
    assert {way for way in ways if str(second.code) not in way} == {"/club/"}

    answer = head.post(f"/club/pools/?club={second.code}", {"name": "Seine", "course": "50 m"})
    assert answer.headers["Location"] == f"/club/pools/?club={second.code}"
    assert second.pools.get().name == "Seine"


@pytest.mark.parametrize("given", ["chosen", "typed"])
def test_a_coach_of_the_squad_is_not_its_second_adult(cast: Cast, head: Client, given: str):
    typed = {"second_adult_name": "Marta", "second_adult_email": "Marta.Lind@example.org"}
    said = {"second_adult": str(cast.coach.pk)} if given == "chosen" else typed
    where = f"/club/squads/?change={cast.squad.code}"
    answer = head.post(where, {"name": "Juniors", **said})

    assert answer.status_code == 422
    assert "They coach this squad themselves" in answer.content.decode()
    assert (
        head.post(
            where.replace(str(cast.squad.code), str(cast.other_squad.code)),
            {"name": "Seniors", **said},
        ).status_code
        == 302
    )


def test_each_step_notices_what_is_gone(cast: Cast):
    club = cast.club
    before = open_steps(club)
    Season.objects.all().update(ends=date(2026, 10, 1))
    Pool.objects.exclude(sessions__isnull=False).delete()
    Membership.objects.filter(role="second recipient").delete()
    Squad.objects.filter(pk=cast.squad.pk).update(second_adult=None)
    Guardianship.objects.filter(swimmer=cast.mate).delete()
    Consent.objects.filter(swimmer=cast.mate).delete()

    gone = set(open_steps(club)) - set(before)

    assert gone == {
        "Season",
        "Who hears of concerns",
        "A second adult for each squad",
        "Guardians",
        "Answers to the four questions",
    }


def test_a_larger_club_costs_no_more_questions(cast: Cast, head: Client):
    with CaptureQueriesContext(connection) as few:
        head.get("/club/")
    for number in range(6):
        squad = Squad.objects.create(club=cast.club, name=f"Squad {number}")
        make_swimmer(cast.club, squad, f"Kid{number} Moor", born=cast.mate.born)
    with CaptureQueriesContext(connection) as many:
        head.get("/club/")

    assert len(many) == len(few) <= 18


@pytest.mark.parametrize("path", [path for path in PAGES if path != "squads/"])
def test_coaches_know_it_is_there_and_others_do_not(cast: Cast, path: str):
    for name, status in [("coach", 403), ("assistant", 403), ("guardian", 404), ("stranger", 404)]:
        client = Client()
        client.force_login(getattr(cast, name))
        assert client.get(f"/club/{path}").status_code == status, name


def test_settings_are_kept_and_a_wrong_zone_is_explained(cast: Cast, head: Client):
    given = {
        "name": "Otterbrook",
        "zone": "Europe/Berlim",
        "course": "50 m",
        "digest_weekday": "7",
        "digest_time": "18:00",
        "film_gigabytes": "500",
        "raw_days": "60",
    }
    page = head.post("/club/settings/", given).content.decode()
    assert "Europe/Berlin" in page
    head.post("/club/settings/", {**given, "zone": "Europe/Berlin", "shows_contacts": "on"})

    cast.club.refresh_from_db()
    assert (cast.club.zone, cast.club.shows_contacts) == ("Europe/Berlin", True)
    assert (cast.club.film_gigabytes, cast.club.raw_days) == (500, 60)


def test_film_is_kept_longer_only_for_a_reason(cast: Cast, head: Client):
    page = head.get("/club/settings/")
    given = {**page.context["form"].initial, "raw_days": "200"}
    assert "Film takes 0\xa0bytes of 200.0\xa0GB." in page.content.decode()

    assert "Say why film is kept for longer" in head.post("/club/settings/", given).content.decode()
    for days in ("0", "3650"):
        assert head.post("/club/settings/", {**given, "raw_days": days}).status_code == 422
    head.post("/club/settings/", {**given, "raw_days_reason": "the season’s film study"})

    cast.club.refresh_from_db()
    assert (cast.club.raw_days, cast.club.raw_days_reason) == (200, "the season’s film study")


def test_seasons_do_not_cross(cast: Cast, head: Client):
    given = {"name": "2027/28", "starts": "2027-07-01", "ends": "2028-07-31"}
    page = head.post("/club/seasons/", given).content.decode()
    assert "It crosses the season 2026/27" in page
    head.post("/club/seasons/", {**given, "starts": "2027-08-01"})

    assert cast.club.seasons.count() == 2


def test_a_pool_is_added_renamed_and_named_once(cast: Cast, head: Client):
    head.post("/club/pools/", {"name": "Harbour", "course": "50 m"})
    pool = cast.club.pools.get(name="Harbour")
    assert Entry.objects.get(thing="pool").actor_code == cast.head_coach.code

    page = head.post("/club/pools/", {"name": "harbour ", "course": "25 m"}).content.decode()
    assert "already. Take another name" in page
    head.post(f"/club/pools/?change={pool.code}", {"name": "Harbour Baths", "course": "50 m"})

    assert {p.name for p in cast.club.pools.all()} == {"Quay Street", "Harbour Baths"}


def test_a_foreign_pool_is_not_changed(cast: Cast, head: Client):
    rivals = cast.rival_coach.memberships.get().club
    theirs = Pool.objects.create(club=rivals, name="Theirs", course="25 m")
    head.post(f"/club/pools/?change={theirs.code}", {"name": "Ours", "course": "25 m"})

    theirs.refresh_from_db()
    assert theirs.name == "Theirs"
    assert head.get(f"/club/?club={rivals.code}").context["club"] == cast.club


def test_a_squad_gets_a_second_adult_who_is_new(cast: Cast, head: Client):
    head.post(
        "/club/squads/",
        {
            "name": "Masters",
            "second_adult_name": "Olga Reed",
            "second_adult_email": "Olga@example.org",
        },
    )

    squad = Squad.objects.get(name="Masters")
    assert squad.second_adult == User.objects.get(email="olga@example.org")
    page = head.post("/club/squads/", {"name": "X", "second_adult_name": "Olga"}).content.decode()
    assert "Type the address" in page
    assert not Squad.objects.filter(name="X").exists()


def test_coaches_read_of_their_squads_and_change_nothing(cast: Cast):
    client = Client()
    client.force_login(cast.assistant)
    shown = client.get("/club/squads/").content.decode()

    assert f"/squads/{cast.squad.code}/people/" in shown
    assert "second adult: Tom Varga" in shown
    assert "Seniors" not in shown
    assert "<form" not in shown.partition("<main")[2].partition("</main")[0]
    assert client.post("/club/squads/", {"name": "Mine"}).status_code == 403


def test_a_day_stands_in_its_field_as_a_browser_takes_it(cast: Cast, head: Client):
    season = cast.club.seasons.get()
    shown = head.get(f"/club/seasons/?change={season.code}").content.decode()

    assert f'value="{season.starts:%Y-%m-%d}"' in shown
    assert f'value="{season.ends:%Y-%m-%d}"' in shown


def test_who_left_is_found_again(cast: Cast, head: Client):
    assert "Nobody has left." in head.get("/club/left/").content.decode()
    zoe = make_swimmer(cast.club, cast.squad, "Zoe Back", born=date(2012, 5, 1))
    moving.leave(zoe, on=DAY, by=cast.head_coach, at=NOW)

    shown = head.get("/club/left/").content.decode()
    assert "Zoe Back" in shown
    assert cast.swimmer.name not in shown


def role(**other: str) -> dict[str, str]:
    return {"name": "Pia Moor", "address": "pia@example.org", "role": "coach", **other}


def test_a_part_is_given_and_told(cast: Cast, head: Client):
    head.post("/club/people/", role(squad=str(cast.squad.code)))

    member = Membership.objects.get(user__email="pia@example.org")
    assert (member.role, member.squad) == ("coach", cast.squad)
    told = {mail.recipient.name: mail.text for mail in OutgoingMail.objects.all()}
    assert set(told) == {"Pia Moor", "Greta Holm"}
    assert "From today on you are coach of Otterbrook. (Juniors)" in told["Pia Moor"]
    assert "Pia Moor is coach from today on. (Juniors)" in told["Greta Holm"]

    head.post(f"/club/people/{member.code}/end/")
    assert not Membership.objects.on(timezone.now().date()).filter(pk=member.pk).exists()


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({}, "needs a squad"),
        ({"role": "welfare officer", "address": "marta.lind@example.org"}, "go past the coaches"),
        ({"role": "head coach", "address": "wanda.okoro@example.org"}, "hears of concerns"),
        ({"role": "second recipient", "address": "wanda.okoro@example.org"}, "past the officer"),
        ({"role": "coach", "address": "tom.varga@example.org", "squad": "own"}, "second adult of"),
        ({"role": "volunteer", "address": "greta.holm@example.org"}, "to themselves"),
        ({"role": "volunteer", "address": "vera.nagy@example.org"}, "has this part already"),
    ],
)
def test_parts_that_do_not_go_together(cast: Cast, head: Client, other: dict[str, str], said: str):
    before = Membership.objects.count()
    if "squad" in other:
        other = {**other, "squad": str(cast.squad.code)}
    page = head.post("/club/people/", role(**other)).content.decode()

    assert said in page
    assert Membership.objects.count() == before
    assert not OutgoingMail.objects.exists()


def test_the_last_head_coach_stays(cast: Cast, head: Client):
    member = cast.head_coach.memberships.get()
    page = head.post(f"/club/people/{member.code}/end/", follow=True).content.decode()

    assert "needs a head coach" in page
    member.refresh_from_db()
    assert member.ends is None


def test_nobody_ends_a_part_of_another_club(cast: Cast, head: Client):
    theirs = cast.rival_coach.memberships.get()

    assert head.post(f"/club/people/{theirs.code}/end/").status_code == 404


def test_parts_ask_for_a_fresh_sign_in(cast: Cast):
    client = Client()
    client.force_login(cast.head_coach)

    assert client.get("/club/people/").headers["Location"].startswith("/sign-in/again/")
