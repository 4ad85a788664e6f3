"""A notice asks once more, when it leaves, whether its reader may be told."""

from __future__ import annotations

import pytest

from portal.jobs import running
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.people.models import Guardianship, User
from portal.review import publishing
from tests.cast import DAY, NOW, Cast
from tests.mailroom.relay import relay
from tests.notes import staging

pytestmark = pytest.mark.django_db(transaction=True)


def receivers(cast: Cast) -> set[str]:
    """Run every notice's job; whom the mail server was given a mail for."""
    with relay() as server:
        for job in Job.objects.filter(kind="review.send_notice"):
            running.run_one(job.code, worker="w", at=NOW)
        return {envelope.rcpt_tos[0] for envelope in server.taken}


@pytest.fixture
def published(cast: Cast) -> Cast:
    publishing.publish(staging.evening(cast), by=cast.coach, at=NOW)
    return cast


def test_it_works(published: Cast):
    cast = published

    assert receivers(cast) == {
        person.email for person in (cast.guardian, cast.co_guardian, cast.swimmer_user)
    }
    assert not OutgoingMail.objects.exclude(state=OutgoingMail.State.SENT).exists()


def test_who_was_barred_before_it_left_gets_nothing(published: Cast):
    Guardianship.objects.filter(guardian=published.guardian).update(barred_from=DAY)

    assert published.guardian.email not in receivers(published)

    stopped = OutgoingMail.objects.get(recipient=published.guardian)
    assert stopped.state == OutgoingMail.State.SKIPPED
    assert "barred" not in stopped.last_error
    assert set(Job.objects.values_list("state", flat=True)) == {Job.State.DONE}


def test_who_was_suspended_gets_nothing(published: Cast):
    User.objects.filter(pk=published.swimmer_user.pk).update(is_active=False)

    assert published.swimmer_user.email not in receivers(published)


def test_what_was_taken_back_is_told_to_nobody(published: Cast):
    publishing.take_back(published.session.reviews.get(), by=published.coach, at=NOW)

    assert receivers(published) == set()


def test_a_childs_own_mail_waits_for_the_morning(cast: Cast):
    late = NOW.replace(hour=21)
    publishing.publish(staging.evening(cast), by=cast.coach, at=late)
    due = dict(Job.objects.filter(kind="review.send_notice").values_list("payload__mail", "due_at"))
    mails = {str(mail.code): mail.recipient for mail in OutgoingMail.objects.all()}
    assert {mails[code]: when for code, when in due.items()} == {
        cast.guardian: late,
        cast.co_guardian: late,
        cast.swimmer_user: late.replace(day=20, hour=8, minute=0),
    }
