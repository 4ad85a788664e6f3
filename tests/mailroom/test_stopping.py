from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import mail as outbox
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.mailroom import sending, stopping
from portal.mailroom.models import OutgoingMail, Stop
from portal.mailroom.posting import post
from portal.people.models import User
from tests.cast import NOW, Cast, signed_in

Kind = OutgoingMail.Kind


def page_of(cast: Cast, kind: Kind = Kind.WEEKLY) -> str:
    return reverse("mailroom:stop", args=[stopping.letters(cast.guardian, kind)])


def posted(cast: Cast, kind: Kind) -> OutgoingMail:
    templates = {Kind.SECURITY: "trial", Kind.WEEKLY: "trial"}
    mail = post(
        cast.guardian,
        club=cast.club,
        kind=kind,
        key=f"{kind}:1",
        template=templates[kind],
        context={},
        at=NOW,
    )
    assert mail
    return mail


def test_it_works(client: Client, cast: Cast):
    """As a mail program clicks: without a cookie, a token of a form, or a sign-in."""
    answer = Client(enforce_csrf_checks=True).post(
        page_of(cast), "List-Unsubscribe=One-Click", "application/x-www-form-urlencoded"
    )

    assert answer.status_code == 200
    assert not stopping.wants(cast.guardian, Kind.WEEKLY, about=[])
    assert stopping.wants(cast.guardian, Kind.NOTES_READY, about=[])
    [entry] = Entry.objects.filter(thing="user", action=Entry.Action.CHANGED)
    assert entry.detail == {"mail": "weekly digest", "wanted": False}


def test_the_one_click_as_a_form_of_parts(cast: Cast):
    Client().post(page_of(cast), {"List-Unsubscribe": "One-Click"})
    assert not stopping.wants(cast.guardian, Kind.WEEKLY, about=[])


def test_looking_changes_nothing(client: Client, cast: Cast):
    """Programs that guard a mailbox look at every address in a mail."""
    for _ in range(3):
        page = client.get(page_of(cast)).content.decode()
    client.head(page_of(cast))
    assert "Send no more of it" in page
    assert "a***@example.org" in page
    assert cast.guardian.email not in page
    assert not Stop.objects.exists()


def test_twice_is_once_and_it_can_be_taken_back(client: Client, cast: Cast):
    client.post(page_of(cast))
    page = client.post(page_of(cast)).content.decode()
    assert Stop.objects.count() == 1
    assert "No more of it goes to a***@example.org." in page

    client.post(page_of(cast), {"act": "go on"})
    assert not Stop.objects.exists()


def test_the_headers_of_the_message(settings, cast: Cast, mailoutbox):
    """RFC 2369; RFC 8058, section 3.1: an https address, and these very words."""
    settings.IS_SECURE, settings.PUBLIC_ADDRESS = True, "https://portal.example.org"
    sending.send(posted(cast, Kind.WEEKLY), at=NOW)

    [message] = outbox.outbox
    address = f"https://portal.example.org{page_of(cast)}"
    assert message.extra_headers["List-Unsubscribe"] == f"<{address}>"
    assert message.extra_headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    # On the wire the line may be folded, but not encoded: mail programs then overlook it.
    assert f"List-Unsubscribe: <{address}>".encode() in message.message().as_bytes().replace(
        b"\n <", b" <"
    ).replace(b":  <", b": <")


def test_without_https_there_is_no_one_click(cast: Cast, mailoutbox):
    sending.send(posted(cast, Kind.WEEKLY), at=NOW)
    [message] = outbox.outbox
    assert "List-Unsubscribe" in message.extra_headers
    assert "List-Unsubscribe-Post" not in message.extra_headers


def test_what_concerns_safety_and_the_way_in_cannot_be_stopped(cast: Cast, mailoutbox):
    sending.send(posted(cast, Kind.SECURITY), at=NOW)
    [message] = outbox.outbox
    assert not [name for name in message.extra_headers if "Unsubscribe" in name]
    with pytest.raises(KeyError):
        stopping.letters(cast.guardian, Kind.SAFEGUARDING)


def test_the_letters_are_few_and_ones_own(cast: Cast):
    written = stopping.letters(cast.guardian, Kind.NOTES_READY)
    assert len(written) == 36
    assert stopping.read(written) == (cast.guardian.code, Kind.NOTES_READY)
    assert written != stopping.letters(cast.guardian, Kind.WEEKLY)
    assert written != stopping.letters(cast.co_guardian, Kind.NOTES_READY)


@given(place=st.integers(0, 35), sign=st.sampled_from("ABab01-_"))
def test_changed_letters_open_nothing(place: int, sign: str):
    written = stopping.letters(User(), Kind.WEEKLY)
    changed = written[:place] + sign + written[place + 1 :]
    if changed != written:
        with pytest.raises(stopping.Broken):
            stopping.read(changed)


@pytest.mark.parametrize("written", ["A", "AAAA", "é" * 36, "A" * 36, "-" * 400])
def test_broken_letters_are_no_page(client: Client, db, written: str):
    assert client.post(f"/mail/{written}/").status_code == 404


def test_a_choice_for_each_kind(cast: Cast):
    client = signed_in(cast.guardian)
    address = reverse("mailroom:choices")
    page = client.get(address).content.decode()
    assert page.count(" checked>") == 2

    client.post(address, {"mail": ["notes-ready:all"]})

    assert not stopping.wants(cast.guardian, Kind.WEEKLY, about=[])
    assert stopping.wants(cast.guardian, Kind.NOTES_READY, about=[cast.swimmer.pk])
    client.post(address, {"mail": ["notes-ready:all", "weekly-digest:all"]})
    assert not Stop.objects.exists()


def test_a_choice_for_each_of_several_children(cast: Cast):
    cast.mate.guardianships.update(guardian=cast.guardian)
    client = signed_in(cast.guardian)
    address = reverse("mailroom:choices")
    page = client.get(address).content.decode()
    assert f"with {cast.mate.first_name}’s notes" in page

    kept = ["notes-ready:all", "weekly-digest:all"]
    kept += [f"{kind}:{cast.swimmer.code}" for kind in ("notes-ready", "weekly-digest")]
    client.post(address, {"mail": kept})

    for kind in Stop.KINDS:
        assert stopping.wants(cast.guardian, kind, about=[cast.swimmer.pk])
        assert not stopping.wants(cast.guardian, kind, about=[cast.swimmer.pk, cast.mate.pk])
    assert Stop.objects.count() == 2


def test_children_of_others_are_no_choice(cast: Cast):
    client = signed_in(cast.guardian)
    client.post(reverse("mailroom:choices"), {"mail": [f"weekly-digest:{cast.mate.code}"]})
    assert not Stop.objects.filter(swimmer=cast.mate).exists()


def test_a_stop_is_dated(cast: Cast):
    stopping.stop(cast.guardian, Kind.WEEKLY, at=NOW)
    stopping.stop(cast.guardian, Kind.WEEKLY, at=NOW + timedelta(days=1))
    assert Stop.objects.get().since == NOW
