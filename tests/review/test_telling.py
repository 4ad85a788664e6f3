"""The notice: to whom it goes, what it says, and that it goes once."""

from __future__ import annotations

import re
import threading
from datetime import UTC, date, datetime, timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.urls import reverse

from portal.items.models import Verdict
from portal.mailroom import sending, stopping
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import HTML_BYTES
from portal.people.models import Guardianship, Swimmer, User
from portal.recordings.models import Effort
from portal.review import publishing, telling
from portal.review.models import Review
from tests.cast import LONG_AGO, NOW, Cast
from tests.mailroom.relay import relay
from tests.notes import staging

State = OutgoingMail.State


@pytest.fixture
def review(cast: Cast) -> Review:
    """As publishing leaves it: a focus, praise with film and without, and a warning."""
    review = staging.evening(cast)
    review.state, review.publishings = Review.State.PUBLISHED, 1
    review.published_at, review.published_by = NOW, cast.coach
    review.save()
    return review


def tell(review: Review, *, at: datetime = NOW) -> dict[str, OutgoingMail]:
    """By first name of the reader."""
    mails = telling.notes_ready(review, at=at)
    return {mail.recipient.get_short_name(): mail for mail in mails}


def test_it_works(review: Review):
    mails = tell(review)
    assert set(mails) == {"Ada", "Bela", "Ines"}
    assert {mail.subject for mail in mails.values()} == {"Ines: notes from Thursday are ready"}
    assert all(mail.address == mail.recipient.email for mail in mails.values())


def test_the_text_says_all_and_the_focus_first(review: Review):
    [praise, focus, warning, deck] = review.comments.order_by("pk")
    text = tell(review)["Ada"].text
    said = [
        "NOTES FROM THURSDAY ARE READY",
        "Ines. Thursday 19 Nov 2026, Quay Street. Checked by Marta Lind.",
        f"Focus: {focus.title} (breaststroke)",
        "Your hands part a second after the wall",
        "Think: Ride the line.",
        "Drill: Push and ride, 6 x 15",
        "Push off and do nothing else.",
        "Take care: Come up whenever you like.",
        f"Good: {praise.title} (breaststroke)",
        "The heels come right up",
        f"Good: {deck.title} ",
        "Chin low on every breath today.",
        f"Looks not legal: {warning.title} (breaststroke)",
        "the feet beat down twice",
        "not an official’s decision",
        "It was swum at race effort.",
        "Rule: One dolphin kick, World Aquatics, edition of 2017 to 2023 (not checked against "
        "the current book). A single butterfly kick is allowed.",
        f"{settings.PUBLIC_ADDRESS}{reverse('notes:notes', args=[review.code])}",
        "Ines has a mail with the same content.",
        f"{settings.PUBLIC_ADDRESS}{reverse('concern')}",
        "Your club’s rules, the lifeguards and medical advice come before",
    ]
    flat, place = " ".join(text.split()), 0
    for sentence in said:
        place = flat.find(sentence, place)
        assert place >= 0, f"{sentence!r} is missing or comes too early"


def test_the_html_part_says_the_same(review: Review):
    mail = tell(review)["Ada"]
    seen = re.sub(r"<style.*?</style>|<[^>]+>", " ", mail.html, flags=re.S)
    seen = re.sub(r"\s+", " ", seen)
    for comment in review.comments.all():
        assert comment.title in seen
        assert re.sub(r"\s+", " ", comment.words) in seen
    for sentence in ["Ride the line.", "Push and ride, 6 x 15", "Come up whenever you like."]:
        assert sentence in seen
    assert f'href="{settings.PUBLIC_ADDRESS}/notes/{review.code}/"' in mail.html


def test_the_html_part_fetches_nothing(review: Review):
    mail = tell(review)["Ada"]
    html = mail.html
    assert not re.search(r"<(img|link|script|iframe)|\bsrc=|url\(|@import|cid:", html, re.I)
    links = set(re.findall(r'(?:href|action|background)="([^"]*)"', html))
    assert links == {
        f"{settings.PUBLIC_ADDRESS}/notes/{review.code}/",
        f"{settings.PUBLIC_ADDRESS}/concern/",
        stopping.address(mail.recipient, OutgoingMail.Kind.NOTES_READY),
    }
    assert "prefers-color-scheme: dark" in html
    assert "max-width: 480px" in html


def test_no_line_of_text_is_long(review: Review):
    text = tell(review)["Ada"].text
    links = [line for line in text.splitlines() if "://" in line]
    assert all(len(line) <= 72 for line in text.splitlines() if line not in links)
    assert all(" " not in line for line in links)


def test_no_surname_of_a_child_and_no_other_reader(review: Review):
    for name, mail in tell(review).items():
        whole = mail.subject + mail.text + mail.html
        assert "Falk" not in whole
        for other in {"Ada", "Bela"} - {name}:
            assert other not in whole
        for user in User.objects.all():
            assert user.email not in whole


def test_the_swimmer_is_greeted_and_told_who_else_reads(review: Review):
    text = tell(review)["Ines"].text
    assert "Hello Ines." in text
    assert "Your family has a mail with the same content." in text


def test_nothing_is_said_of_a_mail_that_does_not_exist(review: Review):
    Swimmer.objects.update(user=None)
    review.swimmer.refresh_from_db()
    mails = tell(review)
    assert set(mails) == {"Ada", "Bela"}
    assert "has a mail with the same content" not in mails["Ada"].text + mails["Ada"].html


def test_under_13_only_the_guardians_read(review: Review):
    review.swimmer.born = date(2013, 11, 20)
    assert set(tell(review)) == {"Ada", "Bela"}


def test_13_on_the_day_of_the_club(review: Review):
    """Late in the evening it is already the next day in Auckland."""
    review.swimmer.born = date(2013, 11, 20)
    review.session.squad.club.zone = "Pacific/Auckland"
    assert set(tell(review)) == {"Ada", "Bela", "Ines"}


def test_no_guardian_no_mail_to_a_minor(review: Review):
    Guardianship.objects.all().delete()
    assert tell(review) == {}


def test_a_grown_up_needs_no_guardian(review: Review):
    Guardianship.objects.all().delete()
    review.swimmer.born = date(2008, 11, 19)
    assert set(tell(review)) == {"Ines"}


@pytest.mark.parametrize("columns", [{"ends": date(2026, 11, 19)}, {"barred_from": LONG_AGO}])
def test_a_guardian_who_is_none_today_gets_nothing(
    cast: Cast, review: Review, columns: dict[str, date]
):
    Guardianship.objects.filter(guardian=cast.co_guardian).update(**columns)
    assert set(tell(review)) == {"Ada", "Ines"}


def test_a_suspended_person_gets_nothing(cast: Cast, review: Review):
    User.objects.filter(pk__in=[cast.co_guardian.pk, cast.swimmer_user.pk]).update(is_active=False)
    review.swimmer.refresh_from_db()
    assert set(tell(review)) == {"Ada"}


def test_a_guardian_listed_twice_gets_one(cast: Cast, review: Review):
    Guardianship.objects.create(
        guardian=cast.guardian, swimmer=cast.swimmer, starts=date(2026, 1, 1), ends=date(2027, 1, 1)
    )
    assert len(telling.notes_ready(review, at=NOW)) == 3


def test_one_publishing_is_told_once(review: Review):
    tell(review)
    assert tell(review, at=NOW + timedelta(hours=1)) == {}
    assert OutgoingMail.objects.count() == 3


def test_publishing_again_is_told_again(review: Review):
    tell(review)
    review.publishings += 1
    assert set(tell(review)) == {"Ada", "Bela", "Ines"}


def test_what_has_not_left_when_it_is_taken_back_never_leaves(cast: Cast, review: Review):
    mails = tell(review)
    OutgoingMail.objects.filter(pk=mails["Ada"].pk).update(state=State.SENT)
    publishing.take_back(review, by=cast.coach, at=NOW)
    states = OutgoingMail.objects.values_list("recipient__name", "state")
    assert dict(states) == {"Ada Falk": "sent", "Bela Korda": "skipped", "Ines Falk": "skipped"}


def test_a_dropped_comment_is_not_told(review: Review):
    review.comments.filter(words=staging.DECK).update(dropped_at=NOW)
    assert "Chin low" not in tell(review)["Ada"].text


def test_a_focus_that_looks_not_legal_says_both(review: Review):
    review.focus = review.comments.get(verdict=Verdict.NOT_LEGAL)
    text = tell(review)["Ada"].text
    assert f"Focus, looks not legal: {review.focus.title}" in text
    assert text.index("Focus, looks") < text.index("Good:")
    assert "Work on: " in text


def test_a_swim_below_race_pace_is_not_called_a_race(review: Review):
    warned = review.comments.get(verdict=Verdict.NOT_LEGAL).clip
    assert warned is not None
    warned.effort = Effort.PRACTICE
    warned.save()
    assert "race effort" not in tell(review)["Ada"].text


def test_words_are_words_and_nothing_else(review: Review):
    nasty = '</td><script>alert(1)</script> {{ 7|add:1 }} & "x"\r\nBcc: all@example.org\n.\n'
    review.comments.filter(words=staging.DECK).update(words=nasty)
    review.swimmer.first_name = "Ines</title>\nBcc: x"
    mail = tell(review)["Ada"]
    assert "<script" not in mail.html
    assert mail.html.count("</title>") == 1
    assert "&lt;script&gt;" in mail.html
    assert '<script>alert(1)</script> {{ 7|add:1 }} & "x"' in mail.text
    assert "\n" not in mail.subject


@pytest.mark.parametrize("words", ["Longer glide.", "Hold the line & ride it. " * 40])
@pytest.mark.parametrize("has_drill", [False, True], ids=["bare", "with a drill"])
def test_200_comments_fit(review: Review, words: str, has_drill: bool):
    clip = review.comments.exclude(clip=None)[0].clip
    drill = staging.drill() if has_drill else None
    for number in range(196):
        staging.comment(review, clip, frame=number % 60, words=f"{number}: {words}", drill=drill)
    mail = tell(review)["Ada"]
    assert 60_000 < len(mail.html.encode()) < HTML_BYTES
    assert all(f"{number}: {words[:12]}" in mail.text for number in range(196))
    shown = len(re.findall(r'class="note"', mail.html))
    assert f"{200 - shown} more notes did not fit here" in mail.html


@pytest.mark.django_db(transaction=True)
def test_each_reader_receives_one_message(review: Review):
    """Two workers at once, over a real line, and a letter has one address on it."""
    mails = telling.notes_ready(review, at=NOW)

    def send_all() -> None:
        for mail in mails:
            sending.send(OutgoingMail.objects.get(pk=mail.pk), at=NOW)
        connection.close()

    with relay() as server:
        threads = [threading.Thread(target=send_all) for _ in range(2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        recipients = sorted(envelope.rcpt_tos for envelope in server.taken)
        assert recipients == [
            ["ada.falk@example.org"],
            ["bela.korda@example.org"],
            ["ines.falk@example.org"],
        ]
        for number, envelope in enumerate(server.taken):
            message = server.message(number)
            assert [message["To"]] == envelope.rcpt_tos
            assert message["Cc"] is None and message["Bcc"] is None
            body = message.get_body(("plain",))
            assert body is not None
            assert "Focus: " in body.get_content()


def test_the_day_is_the_clubs_own(cast: Cast, review: Review):
    """Half past ten at night in UTC is tomorrow in Auckland, when a tie begins."""
    Guardianship.objects.filter(guardian=cast.guardian).update(starts=date(2026, 11, 20))
    late = datetime(2026, 11, 19, 22, 30, tzinfo=UTC)
    assert "Ada" not in tell(review, at=late)
    review.publishings += 1
    review.session.squad.club.zone = "Pacific/Auckland"
    assert "Ada" in tell(review, at=late)


def stop(reader: User, at: datetime = NOW) -> None:
    stopping.stop(reader, OutgoingMail.Kind.NOTES_READY, at=at)


def test_who_wants_none_gets_none_and_the_others_do(review: Review, cast: Cast):
    stop(cast.guardian)
    assert set(tell(review)) == {"Bela", "Ines"}


def test_a_stop_for_one_child_leaves_the_other(review: Review, cast: Cast):
    kind = OutgoingMail.Kind.NOTES_READY
    stopping.stop(cast.guardian, kind, at=NOW, swimmer=cast.mate)
    assert set(tell(review)) == {"Ada", "Bela", "Ines"}


def test_a_minor_gets_none_once_no_guardian_wants_any(review: Review, cast: Cast):
    stop(cast.guardian)
    stop(cast.co_guardian)
    assert tell(review) == {}


def test_a_stop_holds_for_what_is_due_already(review: Review, cast: Cast):
    mail = tell(review)["Ada"]
    assert telling.may_be_told(review, mail.recipient, at=NOW)
    stop(cast.guardian)
    assert not telling.may_be_told(review, mail.recipient, at=NOW)
