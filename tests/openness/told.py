"""Concerns as rows, and people signed in, for tests of what is done about them."""

from __future__ import annotations

from datetime import timedelta

from django.test import Client
from django.utils import timezone

from portal.openness.models import Case
from portal.people.models import EmergencyLook, User
from portal.people.recent import KEY
from tests.cast import NOW, Cast

WORDS = "He waits for her behind the blocks."


def case(cast: Cast, **fields) -> Case:
    told = {
        "club": cast.club,
        "reader": Case.Reader.OFFICER,
        "subject": Case.Subject.CHILD,
        "words": WORDS,
        "may_answer": True,
        "told_by": cast.guardian,
        "at": NOW,
    }
    return Case.objects.create(**{**told, **fields})


def client_of(user: User, *, is_fresh: bool = False) -> Client:
    client = Client()
    client.force_login(user)
    if is_fresh:
        session = client.session
        session[KEY] = timezone.now().timestamp()
        session.save()
    return client


def read(user: User, address: str) -> str:
    response = client_of(user).get(address)
    assert response.status_code == 200, (address, response.status_code)
    return response.content.decode()


def look(cast: Cast, *, minutes: int = 60) -> EmergencyLook:
    now = timezone.now()
    return EmergencyLook.objects.create(
        user=cast.volunteer,
        club=cast.club,
        reason="A film stands still.",
        at=now - timedelta(minutes=1),
        until=now + timedelta(minutes=minutes - 1),
    )
