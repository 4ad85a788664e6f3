"""The officer reads what the portal wrote for the club; not what opens doors or goes past them."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, User
from tests.cast import NOW, Cast
from tests.openness.told import client_of, read

Kind = OutgoingMail.Kind


def mail(club: Club, to: User, kind: Kind, **fields: str) -> OutgoingMail:
    return OutgoingMail.objects.create(
        club=club,
        recipient=to,
        address=to.email,
        kind=kind,
        key=f"{kind}:{to.code}:{OutgoingMail.objects.count()}",
        subject=fields.get("subject", "Ines: notes are ready"),
        text=fields.get("text", "The heels come right up."),
        created_at=NOW,
    )


def test_it_works(cast: Cast):
    mail(cast.club, cast.guardian, Kind.NOTES_READY)

    page = read(cast.welfare, "/communications/")

    assert "Ines: notes are ready" in page
    assert "The heels come right up." in page
    assert "Ada Falk, a***@example.org" in page
    assert cast.guardian.email not in page


@pytest.mark.parametrize("kind", [Kind.CODE, Kind.SECURITY])
def test_what_opens_a_door_is_not_shown(cast: Cast, kind: Kind):
    mail(cast.club, cast.coach, kind, subject="K7QP-2M4X")

    assert "K7QP" not in read(cast.welfare, "/communications/")


def test_of_concerns_only_what_came_to_them(cast: Cast):
    mail(cast.club, cast.second_recipient, Kind.SAFEGUARDING, subject="About the officer")
    mail(cast.club, cast.welfare, Kind.SAFEGUARDING, subject="To the officer")

    page = read(cast.welfare, "/communications/")

    assert "About the officer" not in page
    assert "To the officer" in page


def test_another_clubs_mail_is_not_there(cast: Cast):
    elsewhere = cast.rival_coach.memberships.get().club
    mail(elsewhere, cast.rival_coach, Kind.WEEKLY, subject="Theirs")

    assert "Theirs" not in read(cast.welfare, "/communications/")


@pytest.mark.parametrize(
    "name", ["guardian", "coach", "head_coach", "second_recipient", "volunteer", "second_adult"]
)
def test_others_read_none(cast: Cast, name: str):
    assert client_of(getattr(cast, name)).get("/communications/").status_code == 404


def test_words_are_never_markup(cast: Cast):
    mail(cast.club, cast.guardian, Kind.WEEKLY, subject="<i>x</i>", text="<script>x</script>")

    page = read(cast.welfare, "/communications/")

    assert "<i>x" not in page
    assert "<script>x" not in page


def test_many_mails_take_no_more_queries(cast: Cast):
    counts = []
    client = client_of(cast.welfare)
    for more in (1, 20):
        for _number in range(more):
            mail(cast.club, cast.guardian, Kind.WEEKLY)
        with CaptureQueriesContext(connection) as asked:
            client.get("/communications/")
        counts.append(len(asked))
    assert counts[0] == counts[1]
