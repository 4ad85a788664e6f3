"""What the club's staff see of people, and what the head coach does there."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, Consent, Guardianship, Swimmer
from portal.roster.forms import NewcomerForm
from tests.cast import DAY, LONG_AGO, Cast, make_swimmer, make_user
from tests.factors import give_app

TAG = "<img src=x onerror=alert(1)>"
CANARY = f'">{TAG}'
LIST = "first name,last name,born,guardian 1 name,guardian 1 address\n"


def client_of(cast: Cast, person: str) -> Client:
    client = Client()
    client.force_login(getattr(cast, person))
    return client


@pytest.fixture
def head(cast: Cast) -> Client:
    return client_of(cast, "head_coach")


def read(client: Client, name: str, code) -> str:
    return client.get(reverse(f"roster:{name}", args=[code])).content.decode()


def send(client: Client, name: str, code, /, **given: str):
    return client.post(reverse(f"roster:{name}", args=[code]), given)


def test_it_works(cast: Cast, head: Client):
    page = read(head, "squad", cast.squad.code)

    assert "Ines Falk" in page
    assert "Ada Falk" in page
    assert "ada.falk@example.org" in page
    assert "Add from a list" in page


@pytest.mark.parametrize("person", ["head_coach", "coach", "assistant"])
@pytest.mark.parametrize("shows", [True, False])
def test_nobody_reads_a_minors_address_and_few_a_guardians(cast: Cast, person: str, shows: bool):
    Club.objects.update(shows_contacts=shows)
    client = client_of(cast, person)
    pages = read(client, "squad", cast.squad.code) + read(client, "swimmer", cast.swimmer.code)

    assert "ines.falk@example.org" not in pages
    assert ("ada.falk@example.org" in pages) == (
        person == "head_coach" or (person == "coach" and shows)
    )
    assert ("Ada Falk" in pages) == (person != "assistant")
    assert ("Add a swimmer" in pages) == (person == "head_coach")


@pytest.mark.parametrize(("person", "word"), [("coach", "not answered yet"), ("assistant", "no")])
def test_no_answer_says_no_to_who_needs_to_know_no_more(cast: Cast, person: str, word: str):
    Consent.objects.filter(swimmer=cast.swimmer, purpose=Consent.Purpose.VOICE).delete()
    client = client_of(cast, person)

    for name, code in (("squad", cast.squad.code), ("swimmer", cast.swimmer.code)):
        assert f"sound: {word}<" in read(client, name, code)


def test_a_bar_is_the_head_coachs_to_see(cast: Cast, head: Client):
    tie = cast.swimmer.guardianships.get(guardian=cast.guardian)
    send(head, "bar", tie.code, day="2026-01-01")

    assert "Barred from 1 Jan 2026" in read(head, "swimmer", cast.swimmer.code)
    for name, code in (("swimmer", cast.swimmer.code), ("squad", cast.squad.code)):
        assert "Ada Falk" not in read(client_of(cast, "coach"), name, code)
    assert (
        client_of(cast, "guardian").post(reverse("roster:bar", args=[tie.code])).status_code == 404
    )
    assert not OutgoingMail.objects.exists()


def test_a_page_asks_the_same_for_one_and_for_many(
    cast: Cast, head: Client, django_assert_max_num_queries
):
    for n in range(30):
        swimmer = make_swimmer(cast.club, cast.squad, f"Kid{n} Many", born=cast.mate.born)
        parent = make_user(f"Parent {n}")
        Guardianship.objects.create(guardian=parent, swimmer=swimmer, starts=LONG_AGO)
    with django_assert_max_num_queries(16):
        read(head, "squad", cast.squad.code)


def newcomer(**given: str) -> dict[str, str]:
    return {"first_name": "Ida", "last_name": "Brook", "born": "2013-04-01", **given}


def test_adding_by_form(cast: Cast, head: Client):
    day = "2026-11-01"
    guardian = {"guardian_1_name": "Ole Brook", "guardian_1_address": "Ole@example.org"}
    response = send(head, "add", cast.squad.code, **newcomer(day=day, **guardian))

    ida = Swimmer.objects.get(first_name="Ida")
    assert response.headers["Location"] == reverse("roster:swimmer", args=[ida.code])
    assert OutgoingMail.objects.get().address == "ole@example.org"
    assert "Invited; the invitation holds until" in read(head, "swimmer", ida.code)


def test_what_was_typed_is_kept_on_errors(cast: Cast, head: Client):
    response = send(head, "add", cast.squad.code, **newcomer(last_name=CANARY, born="soon"))
    page = response.content.decode()

    assert not Swimmer.objects.filter(first_name="Ida").exists()
    assert 'value="Ida"' in page
    assert "&quot;&gt;&lt;img src=x" in page
    assert CANARY not in page
    assert "This is no day." in page


def test_only_the_forms_own_fields_are_taken(cast: Cast, head: Client):
    send(head, "add", cast.squad.code, **newcomer(day="2026-11-01", club="99", user="1"))

    ida = Swimmer.objects.get(first_name="Ida")
    assert (ida.club, ida.user) == (cast.club, None)
    assert "user" not in NewcomerForm.base_fields


def test_a_swimmer_is_not_added_twice(cast: Cast, head: Client):
    noor = {"first_name": "noor", "last_name": "HAAN", "born": "2012-08-09", "day": "2026-11-01"}

    page = send(head, "add", cast.squad.code, **noor).content.decode()

    assert "already" in page
    assert Swimmer.objects.filter(last_name__iexact="haan").count() == 1


def test_a_list_is_looked_at_and_then_taken(cast: Cast, head: Client):
    text = LIST + f"Ida,{TAG},2013-04-01,Ole Brook,ole@example.org\n"
    page = send(head, "list", cast.squad.code, text=text, act="look").content.decode()

    assert "Added: 1" in page
    assert "Not in the list: 2" in page
    assert "<img" not in page
    assert not Swimmer.objects.filter(first_name="Ida").exists()

    [mark] = re.findall(r'name="mark" value="(\w+)"', page)
    response = send(head, "list", cast.squad.code, text=text, act="take", mark=mark)

    assert response.headers["Location"] == reverse("roster:squad", args=[cast.squad.code])
    assert Swimmer.objects.get(first_name="Ida").guardianships.count() == 1
    assert OutgoingMail.objects.count() == 1


def test_a_date_with_two_readings_is_asked_about(cast: Cast, head: Client):
    text = LIST + "Ida,Brook,3/4/2013\n"
    page = send(head, "list", cast.squad.code, text=text, act="look").content.decode()

    assert "“3/4/2013” can be read in two ways." in page
    assert "Take it over" not in page
    assert "Ida,Brook,3/4/2013" in page

    page = send(head, "list", cast.squad.code, text=text, order="day first").content.decode()
    assert "3 April 2013" in page
    assert "Take it over" in page


@pytest.mark.parametrize("text", ["", "Ida,Brook,2013-04-01", "PK\x03\x00"])
def test_a_list_that_cannot_be_read_is_kept(cast: Cast, head: Client, text: str):
    page = send(head, "list", cast.squad.code, text=text, act="take")

    assert page.status_code == 200
    assert 'class="why"' in page.content.decode()


def test_moving_leaving_and_finding_again(cast: Cast, head: Client):
    today = str(cast.club.day(cast.session.created_at))
    send(head, "leave", cast.mate.code, day=today)

    assert (
        client_of(cast, "coach").get(reverse("roster:swimmer", args=[cast.mate.code])).status_code
        == 404
    )
    assert "Swam here before" in read(head, "squad", cast.squad.code)

    send(head, "move", cast.mate.code, day=today, squad=str(cast.squad.code))

    cast.mate.refresh_from_db()
    assert cast.mate.left_on is None


def test_a_squad_of_another_club_is_no_choice(cast: Cast, head: Client):
    theirs = cast.rival_coach.memberships.get().club.squads.create(name="Theirs")

    page = send(head, "move", cast.mate.code, day=str(DAY), squad=str(theirs.code))

    assert page.status_code == 200
    assert "Theirs" not in page.content.decode()
    assert not theirs.places.exists()


def test_a_guardian_ends_their_own_tie_and_no_others(cast: Cast):
    own, other = (
        cast.swimmer.guardianships.get(guardian=who) for who in (cast.guardian, cast.co_guardian)
    )
    client = client_of(cast, "guardian")

    assert send(client, "end", other.code, day="2026-01-01").status_code == 404
    assert send(client, "end", own.code).status_code == 302

    own.refresh_from_db()
    other.refresh_from_db()
    assert (own.ends is not None, other.ends) == (True, None)


def test_a_wrong_address_is_corrected_while_nobody_has_answered(cast: Cast, head: Client):
    send(head, "link", cast.mate.code, name="Una Haan", address="uma@example.org")
    tie = cast.mate.guardianships.get(is_accepted=False)

    send(head, "readdress", tie.code, address="una@example.org")

    waiting = cast.mate.guardianships.get(is_accepted=False)
    assert (waiting.guardian.email, waiting.name) == ("una@example.org", "Una Haan")
    to = OutgoingMail.objects.order_by("pk").values_list("address", flat=True)
    assert list(to) == ["uma@example.org", "una@example.org"]


def test_who_turned_18_is_shown_to_the_head_coach(cast: Cast, head: Client):
    today = cast.club.day(cast.session.created_at)
    Swimmer.objects.filter(pk=cast.mate.pk).update(born=today.replace(year=2008, day=1))

    page = read(head, "squad", cast.squad.code)

    assert "turned 18 on 1 November 2026" in " ".join(page.split())
    assert "turned 18" not in read(client_of(cast, "coach"), "squad", cast.squad.code)


def test_the_exported_list(cast: Cast, settings):
    Swimmer.objects.filter(pk=cast.mate.pk).update(first_name="=1+1")
    give_app(cast.coach)
    settings.STAFF_FACTOR = False
    client = client_of(cast, "coach")
    session = client.session
    session["signed in at"] = 99999999999
    session.save()

    response = client.get(reverse("roster:export", args=[cast.squad.code]))

    text = response.content.decode("utf-8-sig")
    assert "'=1+1,Haan,2012-08-09,Juniors,Samir Haan" in text
    assert "@" not in text
    assert response.headers["Content-Disposition"].startswith('attachment; filename="juniors-')
