"""Stepping in without a password: three locks, and each alone keeps the door shut."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client

from portal.audit.models import Entry
from portal.doorway import picking
from portal.people.models import Guardianship, Squad, User
from tests.cast import DAY, LONG_AGO, Cast, Role, join
from tests.doorway.letters import is_in


@pytest.fixture
def demo(cast: Cast, settings) -> Cast:
    """Otterbrook is the demo club; Northmere is real."""
    settings.DEMO = True
    cast.club.is_demo = True
    cast.club.save()
    return cast


def pick(client: Client, person: User | str):
    code = person if isinstance(person, str) else str(person.code)
    return client.post("/demo/", {"code": code})


def test_it_works(client: Client, demo: Cast):
    response = pick(client, demo.coach)
    assert (response.status_code, response.headers["Location"]) == (302, "/")
    assert client.session["_auth_user_id"] == str(demo.coach.pk)
    [entry] = Entry.objects.filter(action=Entry.Action.SIGNED_IN)
    assert entry.actor_code == demo.coach.code


def test_everybody_stands_once_under_the_first_part_that_is_theirs(client: Client, demo: Cast):
    join(demo.coach, demo.club, Role.HEAD_COACH)
    Guardianship.objects.create(guardian=demo.coach, swimmer=demo.mate, starts=LONG_AGO)
    parts = picking.demo_people(on=DAY)
    found = {str(part.name): [person.user.name for person in part.people] for part in parts}
    assert found == {
        "Coach": ["Marta Lind", "Piet Sand"],
        "Head coach": ["Greta Holm"],
        "Assistant": ["Dov Merrin"],
        "Parent or guardian": ["Ada Falk", "Bela Korda", "Samir Haan"],
        "Swimmer": ["Ines Falk", "Noor Haan"],
        "Second adult": ["Tom Varga"],
        "Welfare officer": ["Wanda Okoro"],
        "Second recipient of concerns": ["Nils Aske"],
        "Volunteer": ["Vera Nagy"],
    }
    page = client.get("/demo/").content.decode()
    for people in found.values():
        assert all(page.count(f"<b>{name}</b>") == 1 for name in people)


def test_the_sign_in_page_shows_the_way(client: Client, demo: Cast):
    assert 'href="/demo/"' in client.get("/sign-in/").content.decode()


def test_a_real_portal_has_no_such_page(client: Client, demo: Cast, settings):
    settings.DEMO = False
    assert client.get("/demo/").status_code == 404
    assert pick(client, demo.coach).status_code == 404
    assert 'href="/demo/"' not in client.get("/sign-in/").content.decode()
    assert not is_in(client)


@pytest.mark.parametrize("address", ["192.0.2.7", "10.0.0.1", "::ffff:192.0.2.7", "", "localhost"])
def test_another_machine_finds_nothing(demo: Cast, address: str):
    client = Client(REMOTE_ADDR=address)
    assert client.get("/demo/").status_code == 404
    assert pick(client, demo.coach).status_code == 404
    assert not is_in(client)


def test_a_proxy_on_this_machine_finds_nothing(client: Client, demo: Cast):
    forwarded = {"X-Forwarded-For": "192.0.2.7"}
    assert client.get("/demo/", headers=forwarded).status_code == 404


@pytest.mark.parametrize("address", ["127.0.0.1", "127.0.0.2", "::1"])
def test_this_machine_is_let_in(demo: Cast, address: str):
    assert Client(REMOTE_ADDR=address).get("/demo/").status_code == 200


def refused(client: Client, person: User | str) -> bool:
    return pick(client, person).status_code == 404 and not is_in(client)


def test_a_person_of_a_real_club_is_not_there(client: Client, demo: Cast):
    assert refused(client, demo.rival_coach)
    assert "Rolf Stein" not in client.get("/demo/").content.decode()


def test_a_person_without_any_tie_is_not_there(client: Client, demo: Cast):
    assert refused(client, demo.stranger)


@pytest.mark.parametrize("tie", ["membership", "child", "swimmer", "second adult"])
def test_one_tie_to_a_real_club_is_enough(client: Client, demo: Cast, tie: str):
    real = demo.rival_coach.memberships.get().club
    person = demo.coach
    if tie == "membership":
        join(person, real, Role.VOLUNTEER)
    if tie == "second adult":
        Squad.objects.create(club=real, name="Pike", second_adult=person)
    if tie in {"child", "swimmer"}:
        person = demo.guardian if tie == "child" else demo.swimmer_user
        demo.swimmer.club = real
        demo.swimmer.save()
    assert refused(client, person)
    assert person.name not in client.get("/demo/").content.decode()


def test_a_tie_that_has_ended_counts(client: Client, demo: Cast):
    real = demo.rival_coach.memberships.get().club
    join(demo.coach, real, Role.VOLUNTEER)
    demo.coach.memberships.filter(club=real).update(ends=LONG_AGO)
    assert refused(client, demo.coach)


@pytest.mark.parametrize("columns", [{"is_active": False}, {"is_superuser": True}])
def test_suspended_people_and_superusers_are_not_there(
    client: Client, demo: Cast, columns: dict[str, bool]
):
    User.objects.filter(pk=demo.coach.pk).update(**columns)
    assert refused(client, demo.coach)


@pytest.mark.parametrize("code", ["", "marta", str(uuid.UUID(int=7))])
def test_an_unknown_code_is_not_found(client: Client, demo: Cast, code: str):
    assert refused(client, code)
