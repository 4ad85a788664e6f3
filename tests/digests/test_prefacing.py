"""What the head coach sees of the weekly mail before it goes, and does about it."""

from __future__ import annotations

from datetime import timedelta
from unittest import mock

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from portal.audit.models import Entry
from portal.digests import planning, prefacing
from portal.digests.models import Preface
from portal.digests.timing import TOO_LATE, Week
from portal.mailroom.models import OutgoingMail
from tests.cast import NOW, Cast, signed_in
from tests.digests.practice import DUE, correction, publish, weekly

SOON = DUE - timedelta(hours=6)


@pytest.fixture
def head(cast: Cast):
    """Six hours before the mail is due."""
    with mock.patch.object(timezone, "now", return_value=SOON):
        yield signed_in(cast.head_coach)


def address(cast: Cast) -> str:
    return reverse("digests:weekly", args=[cast.club.code])


def test_it_works(head: Client, cast: Cast):
    publish(cast, correction("Ride the line."))
    page = head.get(address(cast)).content.decode()
    assert "2 would get it now" in page
    assert "As Ada Falk would read it" in page
    assert "Ride the line." in page
    assert "Samir Haan" in page.split("Who gets none")[1]
    assert not OutgoingMail.objects.filter(kind=OutgoingMail.Kind.WEEKLY).exists()

    other = head.get(address(cast), {"of": str(cast.co_guardian.code)}).content.decode()
    assert "As Bela Korda would read it" in other


def test_an_opening_line_stands_before_the_notes(head: Client, cast: Cast):
    publish(cast)
    head.post(address(cast), {"opening": "No practice on Tuesday."})
    assert "No practice on Tuesday." in head.get(address(cast)).content.decode()
    mail = weekly(planning.plan(DUE))["Ada"]
    assert mail.text.index("No practice on Tuesday.") < mail.text.index("INES")
    assert "No practice on Tuesday." in mail.html
    assert Entry.objects.filter(thing="club", detail__digest="2026-W47").count() == 1


def test_held_it_waits_and_let_go_it_leaves(head: Client, cast: Cast):
    publish(cast)
    head.post(address(cast), {"is_held": "on", "why_held": "A name is wrong."})
    assert planning.plan(DUE) == []
    with mock.patch.object(timezone, "now", return_value=DUE + timedelta(hours=2)):
        page = head.get(address(cast)).content.decode()
        assert "It waits: you hold it." in page
        assert "16 to 22 November" in page
        head.post(address(cast), {"opening": ""})
    assert len(planning.plan(DUE + timedelta(hours=2))) == 2


def test_held_for_too_long_it_comes_with_the_next(head: Client, cast: Cast):
    publish(cast, correction("Ride the line."))
    head.post(address(cast), {"is_held": "on", "why_held": "A name is wrong."})
    assert planning.plan(DUE + TOO_LATE + timedelta(minutes=1)) == []
    later = prefacing.next_edition(cast.club, at=DUE + TOO_LATE + timedelta(minutes=1))
    assert later.week == Week(2026, 48)
    assert "Ride the line." in weekly(planning.plan(DUE + timedelta(days=7)))["Ada"].text


def test_holding_needs_a_reason(head: Client, cast: Cast):
    response = head.post(address(cast), {"is_held": "on"})
    assert response.status_code == 422
    assert "Say why, so that others know" in response.content.decode()
    assert not Preface.objects.exists()


def test_another_week_is_not_held(head: Client, cast: Cast):
    publish(cast)
    head.post(address(cast), {"is_held": "on", "why_held": "A name is wrong."})
    Preface.objects.update(week="2026-W46")
    assert len(planning.plan(DUE)) == 2


def test_without_news_no_mail(head: Client, cast: Cast):
    page = head.get(address(cast)).content.decode()
    assert "Nothing is new for anybody yet" in page
    assert NOW < SOON
