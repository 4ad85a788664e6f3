from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.items import observing
from portal.items.models import CheckAnswer, Observation
from portal.jobs.models import Job
from portal.people.consenting import answer
from portal.people.models import Consent
from portal.recordings.models import Clip, Recording, Rendition
from portal.review.models import Comment, Review
from tests.cast import NOW, Cast, signed_in
from tests.items import seen
from tests.notes import staging


@pytest.fixture
def review(cast: Cast) -> Review:
    return staging.evening(cast)


def test_it_works(as_coach: Client, review: Review, cast: Cast):
    page = as_coach.get(f"/reviews/{review.code}/publish/")

    assert page.status_code == 200
    text = page.content.decode()
    for name in ("Ines Falk", "Ada Falk", "Bela Korda", "Tom Varga"):
        assert name in text
    assert "Curt Blum" not in text, "a former guardian gets nothing"
    assert "@example.org" not in text
    assert page.context["hindrances"] == []


def test_many_comments_take_no_more_queries(as_coach: Client, review: Review, cast: Cast):
    as_coach.get(f"/reviews/{review.code}/publish/")
    with CaptureQueriesContext(connection) as few:
        as_coach.get(f"/reviews/{review.code}/publish/")
    recording = Recording.objects.get()
    for number in range(30):
        clip = staging.cut(recording, cast.swimmer, first=number, last=number + 20)
        staging.comment(review, clip, frame=number + 5)
    with CaptureQueriesContext(connection) as many:
        page = as_coach.get(f"/reviews/{review.code}/publish/")

    assert len(page.context["eve"].comments) == 34
    assert len(many) == len(few) <= 12


def test_publishing_rings_for_mail_and_copies(as_coach: Client, review: Review, cast: Cast):
    clips = Clip.objects.filter(comments__reviews=review).distinct()
    assert not Rendition.objects.filter(clip__in=clips).exists()

    answer = as_coach.post(f"/reviews/{review.code}/publish/", follow=True)

    assert answer.redirect_chain[0][0] == f"/reviews/{review.code}/publish/"
    assert "3 mails are on their way" in answer.content.decode()
    review.refresh_from_db()
    assert (review.state, review.published_by) == (Review.State.PUBLISHED, cast.coach)
    assert Job.objects.filter(kind="review.send_notice").count() == 3
    made = Job.objects.filter(kind="recordings.prepare_clip").values_list("key", flat=True)
    assert set(made) == {f"clip:{clip.code}" for clip in clips}


def test_pressed_twice_it_goes_out_once(as_coach: Client, review: Review):
    as_coach.post(f"/reviews/{review.code}/publish/")
    again = as_coach.post(f"/reviews/{review.code}/publish/", {"act": "check"}, follow=True)
    assert "The notes for Ines Falk are out" in again.content.decode()
    review.refresh_from_db()
    assert (review.state, review.publishings) == (Review.State.PUBLISHED, 1)
    assert Job.objects.filter(kind="review.send_notice").count() == 3


def test_a_copy_that_stands_is_not_made_again(as_coach: Client, review: Review, cast: Cast):
    for clip in Clip.objects.filter(comments__reviews=review).distinct():
        staging.copy_clip(clip)
    as_coach.post(f"/reviews/{review.code}/publish/")
    assert not Job.objects.filter(kind="recordings.prepare_clip").exists()


def test_what_hinders_is_said_and_nothing_goes_out(as_coach: Client, review: Review, cast: Cast):
    answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.guardian, at=NOW)

    page = as_coach.get(f"/reviews/{review.code}/publish/")
    assert "no consent to show clips of Ines Falk" in page.content.decode()
    assert ">Publish<" not in page.content.decode()

    refused = as_coach.post(f"/reviews/{review.code}/publish/")
    assert refused.status_code == 422
    review.refresh_from_db()
    assert review.state == Review.State.DRAFT
    assert not Job.objects.exists()


def test_advice_is_no_lock(as_coach: Client, review: Review, cast: Cast):
    review.comments.filter(verdict="good").update(dropped_at=NOW)
    Review.objects.update(focus=None)

    page = as_coach.get(f"/reviews/{review.code}/publish/")

    text = page.content.decode()
    assert "less praise than correction" in text
    assert "No correction is the focus" in text
    assert ">Publish<" in text


def test_more_than_three_corrections_are_advised_against(as_coach: Client, review: Review):
    pattern = review.comments.get(verdict="work on")
    for _ in range(4):
        twin = Comment.objects.get(pk=pattern.pk)
        twin.pk, twin.code = None, Comment().code
        twin.save()
        twin.reviews.add(review)
    text = as_coach.get(f"/reviews/{review.code}/publish/").content.decode()
    assert "more than anybody swims with at once" in text


def test_it_can_be_taken_back(as_coach: Client, review: Review, cast: Cast):
    as_coach.post(f"/reviews/{review.code}/publish/")
    page = as_coach.get(f"/reviews/{review.code}/publish/")
    assert "Take it back" in page.content.decode()

    answer = as_coach.post(f"/reviews/{review.code}/take-back/", follow=True)

    assert "taken back" in answer.content.decode()
    review.refresh_from_db()
    assert review.state == Review.State.DRAFT


def test_an_assistant_publishes_nothing(review: Review, cast: Cast):
    assistant = signed_in(cast.assistant)
    assert assistant.get(f"/reviews/{review.code}/publish/").status_code == 403
    assert assistant.post(f"/reviews/{review.code}/publish/").status_code == 403
    assert assistant.post(f"/reviews/{review.code}/take-back/").status_code == 403
    review.refresh_from_db()
    assert review.state == Review.State.DRAFT


def test_the_head_coach_publishes(review: Review, cast: Cast):
    answer = signed_in(cast.head_coach).post(f"/reviews/{review.code}/publish/")
    assert answer.status_code == 302


@pytest.mark.parametrize("name", ["other_coach", "rival_coach", "guardian", "welfare"])
def test_a_draft_is_out_of_sight(review: Review, cast: Cast, name: str):
    client = signed_in(getattr(cast, name))
    assert client.get(f"/reviews/{review.code}/publish/").status_code == 404
    assert client.post(f"/reviews/{review.code}/publish/").status_code == 404


def test_who_reads_what_is_out_takes_nothing_back(as_coach: Client, review: Review, cast: Cast):
    as_coach.post(f"/reviews/{review.code}/publish/")
    for name in ("guardian", "swimmer_user", "second_adult"):
        client = signed_in(getattr(cast, name))
        assert client.post(f"/reviews/{review.code}/take-back/").status_code == 403
    review.refresh_from_db()
    assert review.state == Review.State.PUBLISHED


def test_taking_back_rejects_get(as_coach: Client, review: Review):
    assert as_coach.get(f"/reviews/{review.code}/take-back/").status_code == 405


def test_a_comment_on_a_removed_clip_can_be_dropped_here(as_coach: Client, review: Review):
    Clip.objects.update(removed_at=NOW)
    stuck = review.comments.filter(clip__isnull=False).first()
    assert stuck is not None
    address = f"/reviews/{review.code}/publish/"
    assert f'action="/comments/{stuck.code}/drop/"' in as_coach.get(address).content.decode()

    answer = as_coach.post(f"/comments/{stuck.code}/drop/", {"review": str(review.code)})

    assert answer.headers["Location"] == address
    assert stuck not in review.comments.kept()


def test_dropping_leads_to_no_review_that_the_comment_is_not_in(as_coach: Client, review: Review):
    comment = review.comments.first()
    assert comment is not None

    answer = as_coach.post(f"/comments/{comment.code}/drop/", {"review": "elsewhere"})

    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/json"


def open_item(cast: Cast, slug: str, *, order: int = 0) -> str:
    """A fault that was seen a week ago; the name of its field on the page."""
    fault = seen.fault(slug, order=order)
    before = seen.said(cast, seen.session(cast, days_ago=7), fault)
    observing.observe(before.review_code, [before])
    return f"item-breast-{fault.checkpoint_id}-{fault.pk}"


def test_open_items_are_asked_and_what_is_tapped_counts(
    as_coach: Client, review: Review, cast: Cast
):
    knees, chin, hips = (open_item(cast, slug) for slug in ("knees", "chin", "hips"))
    address = f"/reviews/{review.code}/publish/"
    assert "3 to answer" in as_coach.get(address).content.decode()

    as_coach.post(address, {knees: "still there", chin: "clean", hips: "could not see"})

    checked = Observation.objects.filter(review_code=review.code, source="check")
    found = checked.values_list("fault__slug", "verdict")
    assert set(found) == {("knees", "work on"), ("chin", "good")}
    unseen = CheckAnswer.objects.get(review_code=review.code, fault__slug="hips")
    assert unseen.answer == "could not see"


def test_what_was_answered_stays_with_the_draft(as_coach: Client, review: Review, cast: Cast):
    knees = open_item(cast, "knees")
    address = f"/reviews/{review.code}/publish/"
    correction = review.comments.get(verdict="not legal")

    as_coach.post(address, {knees: "clean", "focus": str(correction.code), "act": "check"})

    review.refresh_from_db()
    assert (review.state, review.focus) == (Review.State.CHECKED, correction)
    page = as_coach.get(address)
    [question] = page.context["check"].questions
    assert (question.answer, page.context["check"].remaining) == ("clean", "all answered")
    assert not Observation.objects.filter(review_code=review.code).exists()


def test_what_was_answered_stays_when_something_hinders(
    as_coach: Client, review: Review, cast: Cast
):
    knees = open_item(cast, "knees")
    cast.squad.second_adult = None
    cast.squad.save()

    refused = as_coach.post(f"/reviews/{review.code}/publish/", {knees: "clean"})

    assert refused.status_code == 422
    assert refused.context["check"].questions[0].answer == "clean"


def test_what_a_comment_says_is_not_asked_again(as_coach: Client, review: Review, cast: Cast):
    fault = staging.fault()
    before = seen.said(cast, seen.session(cast, days_ago=7), fault)
    observing.observe(before.review_code, [before])

    page = as_coach.get(f"/reviews/{review.code}/publish/")

    assert page.context["check"].questions == []


@pytest.mark.parametrize(
    "sent",
    [{"item": "sideways"}, {"focus": "praise"}, {"focus": "elsewhere"}, {"act": "shout"}],
    ids=str,
)
def test_what_was_not_offered_is_refused(as_coach: Client, review: Review, cast: Cast, sent):
    field = open_item(cast, "knees")
    praise = str(review.comments.filter(verdict="good")[0].code)
    given = {(field if name == "item" else name): value for name, value in sent.items()}
    given = {name: praise if value == "praise" else value for name, value in given.items()}

    refused = as_coach.post(f"/reviews/{review.code}/publish/", given)

    assert refused.status_code == 422
    assert "Something has changed here" in refused.content.decode()
    review.refresh_from_db()
    assert review.state == Review.State.DRAFT


def test_what_is_changed_after_it_was_out_is_marked(as_coach: Client, review: Review, cast: Cast):
    address = f"/reviews/{review.code}/publish/"
    as_coach.post(address)
    assert "corrected" not in as_coach.get(address).content.decode()
    as_coach.post(f"/reviews/{review.code}/take-back/")
    changed = review.comments.filter(verdict="work on").get()
    sent = {"version": changed.version, "words": "Ride it two kicks longer."}
    as_coach.post(f"/comments/{changed.code}/", sent, content_type="application/json")

    as_coach.post(address)

    page = as_coach.get(address)
    assert page.context["eve"].corrected == {changed.pk}
    assert page.content.decode().count(">corrected<") == 2
    review.refresh_from_db()
    assert review.first_out_at is not None
    assert review.first_out_at < changed_at(changed)


def changed_at(comment: Comment):
    comment.refresh_from_db()
    return comment.changed_at


def test_the_next_swimmer_is_offered(as_coach: Client, review: Review, cast: Cast):
    mates = staging.cut(Recording.objects.get(), cast.mate)

    page = as_coach.post(f"/reviews/{review.code}/publish/", follow=True)

    text = page.content.decode()
    assert "Next: Noor" in text
    assert f'data-onward="the next swimmer" href="/clips/{mates.code}/"' in text


def test_after_the_last_the_desk_is_offered(as_coach: Client, review: Review):
    page = as_coach.post(f"/reviews/{review.code}/publish/", follow=True)
    assert "That was the last" in page.content.decode()


def test_an_assistant_hands_over_and_a_coach_checks(as_coach: Client, review: Review, cast: Cast):
    assistant = signed_in(cast.assistant)

    mates = staging.cut(Recording.objects.get(), cast.mate)
    onward = assistant.post(f"/reviews/{review.code}/hand-over/")
    assert onward.headers["Location"] == f"/clips/{mates.code}/", "and the next swimmer is offered"

    review.refresh_from_db()
    assert (review.handed_by, review.state) == (cast.assistant, Review.State.DRAFT)
    as_coach.post(f"/reviews/{review.code}/publish/", {"act": "check"})
    review.refresh_from_db()
    assert (review.handed_by, review.state) == (None, Review.State.CHECKED)


def test_what_was_handed_over_can_be_taken_up_again(review: Review, cast: Cast):
    assistant = signed_in(cast.assistant)
    assistant.post(f"/reviews/{review.code}/hand-over/")
    assistant.post(f"/reviews/{review.code}/hand-over/", {"act": "take up"})
    review.refresh_from_db()
    assert review.handed_at is None


def test_what_is_out_is_not_handed_over(as_coach: Client, review: Review, cast: Cast):
    as_coach.post(f"/reviews/{review.code}/publish/")
    page = signed_in(cast.assistant).post(f"/reviews/{review.code}/hand-over/", follow=True)
    assert "This review is out" in page.content.decode()
    review.refresh_from_db()
    assert (review.state, review.handed_at) == (Review.State.PUBLISHED, None)


@pytest.mark.parametrize("name", ["guardian", "second_adult", "rival_coach", "welfare"])
def test_who_does_not_work_with_the_squad_hands_nothing_over(review: Review, cast: Cast, name: str):
    client = signed_in(getattr(cast, name))
    assert client.post(f"/reviews/{review.code}/hand-over/").status_code == 404
