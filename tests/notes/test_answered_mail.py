"""A coach's answer goes to each guardian by a mail of their own, and to no child alone."""

from __future__ import annotations

import pytest
from django.urls import reverse

from portal.jobs.models import Job
from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail, Stop
from portal.people.models import Guardianship, Swimmer
from portal.review import publishing
from portal.review.jobs import send_notice
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast, signed_in
from tests.notes import staging

WORDS = "The left one. I show you on Monday."


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    OutgoingMail.objects.all().delete()
    Job.objects.all().delete()
    return review


def answer(cast: Cast, review: Review) -> dict[str, OutgoingMail]:
    address = reverse("notes:answer", args=[review.code])
    signed_in(cast.coach).post(address, {"act": "answer", "words": WORDS})
    return {mail.recipient.name: mail for mail in OutgoingMail.objects.select_related("recipient")}


def test_it_works(cast: Cast, review: Review):
    mails = answer(cast, review)

    assert set(mails) == {cast.guardian.name, cast.co_guardian.name}
    mail = mails[cast.guardian.name]
    assert mail.subject == "Ines: a coach has answered"
    assert WORDS in mail.text
    assert WORDS in mail.html
    assert f"/notes/{review.code}/#talk" in mail.text
    assert stopping.address(cast.guardian, mail.kind) in mail.text
    assert cast.co_guardian.name not in mail.text + mail.html
    assert Job.objects.filter(kind="review.send_notice").count() == 2


def test_a_grown_up_swimmer_has_one_too(cast: Cast, review: Review):
    Swimmer.objects.filter(pk=cast.swimmer.pk).update(born=DAY.replace(year=2000))

    assert set(answer(cast, review)) == {cast.swimmer_user.name}


def test_who_wants_none_gets_none(cast: Cast, review: Review):
    Stop.objects.create(
        recipient=cast.guardian, kind=OutgoingMail.Kind.NOTES_READY, swimmer=None, since=NOW
    )

    assert set(answer(cast, review)) == {cast.co_guardian.name}


def test_who_was_barred_meanwhile_gets_none(cast: Cast, review: Review):
    mails = answer(cast, review)
    Guardianship.objects.filter(guardian=cast.guardian).update(barred_from=DAY)
    mail = mails[cast.guardian.name]

    send_notice(Job.objects.get(payload__mail=str(mail.code)), NOW)

    mail.refresh_from_db()
    assert mail.state == OutgoingMail.State.SKIPPED


def test_only_seen_writes_no_mail(cast: Cast, review: Review):
    address = reverse("notes:answer", args=[review.code])
    signed_in(cast.coach).post(address, {"act": "seen"})

    assert not OutgoingMail.objects.exists()
