"""Taking back and correcting what was out: readers see it, and what was for staff stays there."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from portal.mailroom.models import OutgoingMail
from portal.review import commenting, publishing
from portal.review.models import Comment, Review
from tests.cast import NOW, Cast, signed_in
from tests.house import ROOT
from tests.notes import staging
from tests.test_access import address_of, rows
from tests.test_canaries import read, visited
from tests.world import Codes, build

LATER = NOW + timedelta(hours=2)
SECRET = "Quagga"


@pytest.fixture
def review(cast: Cast) -> Review:
    return staging.evening(cast)


def correct(review: Review, cast: Cast) -> Comment:
    """Out, taken back, one comment changed, and out again."""
    publishing.publish(review, by=cast.coach, at=NOW)
    publishing.take_back(review, by=cast.coach, at=LATER)
    comment = review.comments.get(verdict="work on")
    changed = commenting.change(
        comment, version=comment.version, by=cast.coach, at=LATER, words="Ride it longer still."
    )
    publishing.publish(review, by=cast.coach, at=LATER)
    return changed


def test_readers_see_what_was_corrected(review: Review, cast: Cast):
    correct(review, cast)

    text = signed_in(cast.guardian).get(f"/notes/{review.code}/").content.decode()

    assert "Corrected on 19 November." in text
    assert text.count("<b>corrected</b>") == 1
    moment = text.split("Ride it longer still.")[0].rsplit("<article", 1)[1]
    assert "<b>corrected</b>" in moment


def test_what_was_never_taken_back_bears_no_mark(review: Review, cast: Cast):
    publishing.publish(review, by=cast.coach, at=NOW)
    text = signed_in(cast.guardian).get(f"/notes/{review.code}/").content.decode()
    assert "orrected" not in text


def test_sent_out_again_unchanged_no_moment_bears_a_mark(review: Review, cast: Cast):
    publishing.publish(review, by=cast.coach, at=NOW)
    publishing.take_back(review, by=cast.coach, at=LATER)
    publishing.publish(review, by=cast.coach, at=LATER)
    text = signed_in(cast.guardian).get(f"/notes/{review.code}/").content.decode()
    assert "<b>corrected</b>" not in text


def test_mail_that_has_not_left_is_recalled(review: Review, cast: Cast):
    correct(review, cast)
    states = list(OutgoingMail.objects.order_by("pk").values_list("state", flat=True))
    assert "due" not in states[:3]
    assert states[3:] == ["due"] * 3


# ---- what is for staff alone


def test_nobody_but_staff_ever_reads_the_note_for_staff(cast: Cast):
    """In every page, file and export to which the access table lets them in."""
    codes: Codes = build(cast)
    Comment.objects.update(staff_note=SECRET)
    bench = signed_in(cast.assistant).get(address_of("review:bench[shown]", codes))
    assert SECRET in bench.content.decode()
    for row in rows():
        for person in ("guardian", "swimmer_user", "second_adult", "welfare"):
            if row["method"] == "GET" and row[person] == "2":
                for response in visited(cast, person, "GET", address_of(row["url"], codes)):
                    assert SECRET not in read(response), (person, row["url"])


def test_what_goes_to_families_does_not_know_of_it():
    """Mail, digest, sheets and exports are made above the review, or below it."""
    knowing = {
        path.relative_to(ROOT).parts[:2]
        for folder in ("portal", "templates")
        for path in (ROOT / folder).rglob("*.*")
        if path.suffix in (".py", ".html", ".txt") and "staff_note" in path.read_text()
    }
    assert knowing == {("portal", "review"), ("templates", "review")}
    assert "staff_note" not in (ROOT / "portal/review/telling.py").read_text()


def test_no_mail_carries_it(review: Review, cast: Cast):
    Comment.objects.update(staff_note=SECRET)
    publishing.publish(review, by=cast.coach, at=NOW)
    mails = OutgoingMail.objects.all()
    assert mails
    assert not any(SECRET in f"{mail.subject} {mail.text} {mail.html}" for mail in mails)


def test_it_is_not_said_to_others(as_coach: Client, review: Review, cast: Cast):
    staging.cut(review.comments.exclude(clip=None)[0].clip.recording, cast.mate)  # type: ignore[union-attr]
    Comment.objects.update(staff_note=SECRET)
    comment = review.comments.get(verdict="work on")
    sent = {"swimmers": [str(cast.mate.code)]}
    address = f"/comments/{comment.code}/repeat/"
    assert as_coach.post(address, sent, content_type="application/json").status_code == 201
    assert Comment.objects.latest("pk").staff_note == ""
