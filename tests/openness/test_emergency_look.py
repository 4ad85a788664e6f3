"""The volunteer sees no picture; for a reason that two people read at once, for a while."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from portal.audit.models import Entry
from portal.mailroom.models import OutgoingMail
from portal.openness import looking
from portal.people.models import EmergencyLook, Membership
from tests.cast import NOW, Cast
from tests.openness.told import client_of, look, read
from tests.test_access import address_of
from tests.world import Codes, build

REASON = "The film of Tuesday stands still."
PICTURES = [
    *("recordings:film[whole]", "recordings:film[shown]", "recordings:film[draft]"),
    *("recordings:times[whole]", "recordings:times[shown]", "recordings:poster"),
    *("recordings:strip", "notes:still[shown]", "notes:notes[shown]"),
]


@pytest.fixture
def codes(cast: Cast) -> Codes:
    return build(cast)


def ask(cast: Cast, **fields: str):
    client = client_of(cast.volunteer, is_fresh=True)
    club = str(cast.club.code)
    return client.post(
        "/emergency-look/", {"reason": REASON, "minutes": "30", "club": club, **fields}
    )


def seen(client: Client, codes: Codes) -> dict[str, int]:
    return {name: client.get(address_of(name, codes)).status_code for name in PICTURES}


def test_it_works(cast: Cast, codes: Codes):
    client = client_of(cast.volunteer, is_fresh=True)
    assert set(seen(client, codes).values()) == {404}

    assert ask(cast).status_code == 302

    assert set(seen(client, codes).values()) == {200}
    made = EmergencyLook.objects.latest("pk")
    assert made.until - made.at == timedelta(minutes=30)
    page = client.get("/emergency-look/").content.decode()
    assert REASON in page
    assert "End it now" in page
    assert client.get("/footage/").status_code == 200


def test_two_people_read_why_at_once(cast: Cast):
    ask(cast)

    mails = OutgoingMail.objects.all()
    assert {mail.recipient for mail in mails} == {cast.head_coach, cast.welfare}
    for mail in mails:
        assert mail.kind == "safeguarding"
        assert REASON in mail.text
        assert REASON in mail.html
        assert cast.volunteer.name in mail.text


def test_every_look_at_a_picture_stands_in_the_record(cast: Cast, codes: Codes):
    ask(cast)
    client = client_of(cast.volunteer)
    for name in PICTURES:
        response = client.get(address_of(name, codes))
        if response.streaming:
            response.getvalue()

    entries = Entry.objects.filter(action="saw", actor_code=cast.volunteer.code)
    looked = set(entries.values_list("thing", "thing_code"))
    assert looked >= {
        ("rendition", codes["copy[whole]"]),
        ("rendition", codes["copy[shown]"]),
        ("rendition", codes["copy[draft]"]),
        ("recording", codes["recording"]),
        ("comment", codes["comment[shown]"]),
        ("review", codes["review[shown]"]),
    }
    [made] = Entry.objects.filter(thing="emergencylook")
    assert (made.action, made.detail) == ("made", {"minutes": 30})


def test_ended_by_a_button_it_is_over(cast: Cast, codes: Codes):
    ask(cast)
    client = client_of(cast.volunteer)
    made = EmergencyLook.objects.latest("pk")

    client.post(reverse("openness:end_look", args=[made.code]))

    assert set(seen(client, codes).values()) == {404}
    assert Entry.objects.filter(thing="emergencylook", detail={"what": "ended"}).count() == 1


def test_it_ends_by_itself(cast: Cast, codes: Codes):
    over = look(cast)
    EmergencyLook.objects.filter(pk=over.pk).update(until=timezone.now())

    assert set(seen(client_of(cast.volunteer), codes).values()) == {404}


@pytest.mark.parametrize(
    "fields", [{"reason": ""}, {"reason": "  "}, {"minutes": "61"}, {"minutes": ""}]
)
def test_without_a_reason_or_for_longer_nothing_opens(cast: Cast, fields: dict[str, str]):
    assert ask(cast, **fields).status_code == 422
    assert not EmergencyLook.objects.exists()
    assert not OutgoingMail.objects.exists()


@pytest.mark.parametrize("minutes", [0, -5, 61])
def test_nor_by_the_verb(cast: Cast, minutes: int):
    with pytest.raises(looking.TooLong, match=f"{minutes} minutes"):
        looking.begin(cast.club, reason=REASON, minutes=minutes, by=cast.volunteer, at=NOW)


def test_it_needs_a_sign_in_of_just_now(cast: Cast):
    answer = client_of(cast.volunteer).post(
        "/emergency-look/", {"reason": REASON, "minutes": "30", "club": str(cast.club.code)}
    )

    assert "again" in answer.headers["Location"]
    assert not EmergencyLook.objects.exists()


def test_another_club_is_not_theirs_to_open(cast: Cast):
    elsewhere = cast.rival_coach.memberships.get().club

    assert ask(cast, club=str(elsewhere.code)).status_code == 422
    assert not EmergencyLook.objects.exists()


@pytest.mark.parametrize("name", ["head_coach", "coach", "welfare", "guardian", "stranger"])
def test_nobody_else_has_one(cast: Cast, name: str):
    client = client_of(getattr(cast, name), is_fresh=True)

    assert client.get("/emergency-look/").status_code == 404
    assert client.post("/emergency-look/", {"reason": REASON, "minutes": "30"}).status_code == 404


def test_who_has_stopped_running_the_portal_looks_no_more(cast: Cast, codes: Codes):
    ask(cast)
    Membership.objects.filter(user=cast.volunteer).delete()

    assert set(seen(client_of(cast.volunteer), codes).values()) == {404}


def test_the_look_opens_no_case_and_no_mail(cast: Cast):
    look(cast)
    client = client_of(cast.volunteer)

    for place in ("/cases/", "/communications/", "/suspensions/", "/record/"):
        assert client.get(place).status_code == 404


def test_the_start_page_leads_there(cast: Cast):
    assert "/emergency-look/" in read(cast.volunteer, "/")
    assert "/cases/" in read(cast.second_recipient, "/")
    assert "/footage/" not in read(cast.second_recipient, "/")
    for place in ("/cases/", "/footage/", "/suspensions/", "/record/", "/communications/"):
        assert f'href="{place}"' in read(cast.welfare, "/")
