from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from threading import Barrier, Thread

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.audit.models import Entry
from portal.items.models import Observation, Verdict
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.people.consenting import answer
from portal.people.models import Consent, Squad, Suspension, User
from portal.recordings.models import Clip, Effort, Recording, Rendition, Showing
from portal.review import commenting, publishing, stilling
from portal.review.models import Comment, Review
from portal.technique.models import Stroke
from tests.cast import DAY, NOW, Cast
from tests.notes import staging

LATER = NOW + timedelta(hours=1)
UNTAGGED = " has no tag. Choose one, or drop the comment."


@pytest.fixture
def review(cast: Cast) -> Review:
    return staging.evening(cast)


def recipients(mails: list[OutgoingMail]) -> set[str]:
    return {mail.address for mail in mails}


def test_it_works(review: Review, cast: Cast):
    mails = publishing.publish(review, by=cast.coach, at=LATER)

    review.refresh_from_db()
    assert review.state == Review.State.PUBLISHED
    assert (review.publishings, review.published_at, review.published_by) == (1, LATER, cast.coach)
    told = {cast.guardian.email, cast.co_guardian.email, cast.swimmer_user.email}
    assert recipients(mails) == told
    assert {job.payload["mail"] for job in Job.objects.filter(kind="review.send_notice")} == {
        str(mail.code) for mail in mails
    }
    [clip] = Clip.objects.all()
    assert [(s.clip, s.swimmer) for s in Showing.objects.all()] == [(clip, cast.swimmer)]
    filmed = review.comments.exclude(clip=None)
    assert all(Path(comment.still.path).exists() for comment in filmed)
    assert not review.comments.get(clip=None).still
    [entry] = Entry.objects.filter(action=Entry.Action.PUBLISHED)
    assert (entry.thing_code, entry.actor_code) == (review.code, cast.coach.code)
    assert entry.club_code == cast.club.code


def test_observations_say_what_the_comments_say(review: Review, cast: Cast):
    publishing.publish(review, by=cast.coach, at=LATER)

    comments = {comment.code: comment for comment in review.comments.all()}
    observed = {o.comment_code: o for o in Observation.objects.all()}
    assert observed.keys() == comments.keys()
    for code, observation in observed.items():
        comment = comments[code]
        assert observation.verdict == comment.verdict
        assert observation.clip == comment.clip
        source = Observation.Source.COMMENT if comment.clip else Observation.Source.DECK
        assert observation.source == source
        assert observation.checkpoint.name == comment.title
        assert observation.fault == (None if comment.verdict == Verdict.GOOD else comment.fault)
        assert observation.stroke == Stroke.BREAST
        assert (observation.swimmer, observation.session) == (cast.swimmer, cast.session)
        assert (observation.date, observation.at) == (DAY, LATER)
        assert (observation.coach, observation.review_code) == (cast.coach, review.code)


@pytest.mark.parametrize(
    ("strokes", "stroke"),
    [(" fly breast ", Stroke.FLY), (" any ", Stroke.MEDLEY), (" any back ", Stroke.BACK)],
)
def test_a_deck_note_has_the_stroke_of_its_tag(cast: Cast, strokes: str, stroke: str):
    review = staging.open_review(cast)
    point = staging.checkpoint()
    point.strokes = strokes
    point.save(update_fields=["strokes"])
    staging.comment(review, None)

    publishing.publish(review, by=cast.coach, at=LATER)

    assert Observation.objects.get().stroke == stroke


def test_dropped_comments_stay_behind(review: Review, cast: Cast):
    review.comments.filter(verdict=Verdict.NOT_LEGAL).update(dropped_at=NOW)

    publishing.publish(review, by=cast.coach, at=LATER)

    assert not Observation.objects.filter(verdict=Verdict.NOT_LEGAL).exists()
    assert Observation.objects.count() == 3


def test_a_second_publishing_does_nothing_twice(review: Review, cast: Cast):
    also = Review.objects.get(pk=review.pk)
    publishing.publish(review, by=cast.coach, at=LATER)

    assert publishing.publish(also, by=cast.head_coach, at=LATER) == []

    also.refresh_from_db()
    assert (also.publishings, also.published_by) == (1, cast.coach)
    assert Observation.objects.count() == 4
    assert OutgoingMail.objects.count() == 3


@pytest.mark.django_db(transaction=True)
def test_of_two_at_the_same_time_one_publishes(review: Review, cast: Cast):
    gate, answers = Barrier(2), []

    def publish() -> None:
        mine = Review.objects.get(pk=review.pk)
        gate.wait()
        answers.append(publishing.publish(mine, by=cast.coach, at=LATER))
        connection.close()

    both = [Thread(target=publish) for _ in range(2)]
    for thread in both:
        thread.start()
    for thread in both:
        thread.join()

    assert sorted(len(mails) for mails in answers) == [0, 3]
    review.refresh_from_db()
    assert review.publishings == 1
    assert Observation.objects.count() == 4
    assert Entry.objects.filter(action=Entry.Action.PUBLISHED).count() == 1
    for comment in review.comments.exclude(clip=None):
        assert Path(comment.still.path).exists()
        folder = comment.still.storage.listdir("stills")[1]
        assert len([name for name in folder if name.startswith(str(comment.code))]) == 1


def hindered(review: Review, cast: Cast) -> str:
    """The one reason, with the certainty that nothing was published."""
    with pytest.raises(publishing.Hindered) as caught:
        publishing.publish(review, by=cast.coach, at=LATER)
    review.refresh_from_db()
    assert review.state == Review.State.DRAFT
    assert not Observation.objects.exists()
    assert not Showing.objects.exists()
    assert not OutgoingMail.objects.exists()
    [reason] = caught.value.reasons
    assert reason in str(caught.value)
    return reason


def test_a_squad_without_second_adult_is_refused(review: Review, cast: Cast):
    cast.squad.second_adult = None
    cast.squad.save(update_fields=["second_adult"])
    review.refresh_from_db()

    assert "Juniors has no second adult" in hindered(review, cast)


def test_an_empty_review_is_refused(cast: Cast):
    assert "no comment yet" in hindered(staging.open_review(cast), cast)


def test_a_comment_without_tag_is_refused(review: Review, cast: Cast):
    review.comments.filter(clip=None).update(checkpoint=None)

    assert hindered(review, cast).startswith("“Chin low on every breath today.” has no tag")


def test_a_correction_tagged_as_praise_is_refused(review: Review, cast: Cast):
    review.comments.filter(verdict=Verdict.WORK_ON).update(fault=None)

    assert "has no tag" in hindered(review, cast)


def test_a_comment_without_words_is_refused(review: Review, cast: Cast):
    review.comments.filter(verdict=Verdict.WORK_ON).update(words="  ")

    assert "“Patient line off the wall” at 0:01.00 has no words" in hindered(review, cast)


def test_comments_without_tag_and_words_are_told_apart_by_their_moments(review: Review):
    Clip.objects.update(first_frame=3)
    review.comments.update(checkpoint=None, fault=None, words="")

    reasons = publishing.hindrances(review, by=review.session.created_by, at=NOW)

    named = [reason.removesuffix(UNTAGGED) for reason in reasons if reason.endswith(UNTAGGED)]
    assert named == [
        "A note without film",
        "The comment at 0:00.30",
        "The comment at 0:00.90",
        "The comment at 0:01.40",
    ]


def test_without_a_copy_the_frame_is_named(review: Review):
    review.comments.filter(verdict=Verdict.WORK_ON).update(fault=None, words="")
    Rendition.objects.all().delete()

    assert f"The comment at frame 31{UNTAGGED}" in publishing.hindrances(
        review, by=review.session.created_by, at=NOW
    )


def test_many_unfinished_comments_take_no_more_queries(review: Review, cast: Cast):
    with CaptureQueriesContext(connection) as few:
        publishing.hindrances(review, by=review.session.created_by, at=NOW)
    for number in range(12):
        clip = staging.cut(Recording.objects.get(), cast.swimmer, first=number, last=number + 20)
        staging.comment(review, clip, frame=number + 5, checkpoint=None, words="")
    with CaptureQueriesContext(connection) as many:
        assert len(publishing.hindrances(review, by=review.session.created_by, at=NOW)) == 24
    assert len(many) == len(few) + 1 == 5


def test_not_legal_below_race_pace_is_refused(review: Review, cast: Cast):
    Clip.objects.update(effort=Effort.PRACTICE)

    assert "below race pace" in hindered(review, cast)


def test_a_removed_clip_is_refused(review: Review, cast: Cast):
    Clip.objects.update(removed_at=NOW)

    assert "clip that was removed" in hindered(keep_only(review, words=staging.HEELS), cast)


def test_without_consent_to_show_it_is_refused(review: Review, cast: Cast):
    answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.co_guardian, at=LATER)

    assert "no consent to show clips of Ines Falk" in hindered(review, cast)


def test_film_of_somebody_who_may_not_be_filmed_any_more(review: Review, cast: Cast):
    answer(cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.co_guardian, at=LATER)

    assert "Ines Falk may not be filmed any more" in hindered(review, cast)


def test_without_consent_the_words_alone_may_go_out(review: Review, cast: Cast):
    answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.guardian, at=LATER)
    keep_only(review, words=staging.DECK)

    assert publishing.hindrances(review, by=review.session.created_by, at=NOW) == []


def test_a_group_clip_needs_everybodys_consent(review: Review, cast: Cast):
    Clip.objects.get().swimmers.add(cast.mate)
    answer(cast.mate, Consent.Purpose.SHOW, is_given=False, by=cast.mate_guardian, at=LATER)

    assert "no consent to show clips of Noor Haan" in hindered(review, cast)


def test_consent_withdrawn_while_the_stills_are_drawn_counts(
    review: Review, cast: Cast, monkeypatch
):
    def draw_and_lose(comment) -> None:
        answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.guardian, at=LATER)

    monkeypatch.setattr(stilling, "make_still", draw_and_lose)

    assert "Ines Falk" in hindered(review, cast)


def test_taking_back_undoes_it(review: Review, cast: Cast):
    publishing.publish(review, by=cast.coach, at=NOW)

    publishing.take_back(review, by=cast.head_coach, at=LATER)

    review.refresh_from_db()
    assert review.state == Review.State.DRAFT
    assert not Observation.objects.exists()
    assert not Showing.objects.exists()
    states = set(OutgoingMail.objects.values_list("state", flat=True))
    assert states == {OutgoingMail.State.SKIPPED}
    [entry] = Entry.objects.filter(action=Entry.Action.TOOK_BACK)
    assert (entry.thing_code, entry.actor_code) == (review.code, cast.head_coach.code)


def test_taking_back_leaves_others_alone(review: Review, cast: Cast):
    clip = Clip.objects.get()
    clip.swimmers.add(cast.mate)
    of_mate = staging.open_review(cast, cast.mate)
    for comment in review.comments.all():
        comment.reviews.add(of_mate)
    publishing.publish(review, by=cast.coach, at=NOW)
    publishing.publish(of_mate, by=cast.coach, at=NOW)

    publishing.take_back(review, by=cast.coach, at=LATER)

    assert [showing.swimmer for showing in Showing.objects.all()] == [cast.mate]
    assert {o.swimmer for o in Observation.objects.all()} == {cast.mate}


def test_a_draft_cannot_be_taken_back(review: Review, cast: Cast):
    publishing.take_back(review, by=cast.coach, at=LATER)

    assert not Entry.objects.filter(action=Entry.Action.TOOK_BACK).exists()


def test_publishing_again_tells_again(review: Review, cast: Cast):
    first = publishing.publish(review, by=cast.coach, at=NOW)
    publishing.take_back(review, by=cast.coach, at=NOW)

    second = publishing.publish(review, by=cast.coach, at=LATER)

    review.refresh_from_db()
    assert review.publishings == 2
    assert recipients(second) == recipients(first)
    assert not {mail.key for mail in first} & {mail.key for mail in second}
    assert Observation.objects.count() == 4


def keep_only(review: Review, *, words: str) -> Review:
    review.comments.exclude(words=words).update(dropped_at=NOW)
    return review


def change_while_drawing(monkeypatch: pytest.MonkeyPatch, comment: Comment, by: User) -> None:
    """Another hand moves the comment just after its still was drawn, each time anew."""
    draw = stilling.make_still

    def draw_and_be_overtaken(drawn: Comment) -> None:
        draw(drawn)
        if drawn.pk == comment.pk and frames:
            current = Comment.objects.get(pk=comment.pk)
            commenting.change(current, version=current.version, by=by, at=NOW, frame=frames.pop())

    frames = [50]
    monkeypatch.setattr(stilling, "make_still", draw_and_be_overtaken)


def test_no_old_picture_stands_beside_a_moved_comment(
    review: Review, cast: Cast, monkeypatch: pytest.MonkeyPatch
):
    moved = review.comments.get(words=staging.EARLY)
    change_while_drawing(monkeypatch, moved, cast.coach)

    publishing.publish(review, by=cast.coach, at=NOW)

    moved.refresh_from_db()
    assert moved.frame == 50
    assert stilling.is_current(moved)


def test_what_is_refused_stays_a_draft_in_hand_too(review: Review, cast: Cast):
    review.comments.filter(words=staging.EARLY).update(words="")

    with pytest.raises(publishing.Hindered):
        publishing.publish(review, by=cast.coach, at=NOW)

    assert review.state == Review.State.DRAFT
    assert review.publishings == 0


def test_the_second_adult_is_not_the_one_who_publishes(review: Review, cast: Cast):
    Squad.objects.filter(pk=cast.squad.pk).update(second_adult=cast.coach)
    review = Review.objects.get()

    with pytest.raises(publishing.Hindered, match="You are the second adult"):
        publishing.publish(review, by=cast.coach, at=NOW)


def test_a_second_adult_who_is_shut_out_of_the_club_is_none(review: Review, cast: Cast):
    Suspension.objects.create(user=cast.second_adult, club=cast.club, by=cast.welfare, at=NOW)

    with pytest.raises(publishing.Hindered, match="has no second adult"):
        publishing.publish(review, by=cast.coach, at=NOW)

    Suspension.objects.update(lifted_at=NOW)
    publishing.publish(review, by=cast.coach, at=NOW)


def test_a_second_adult_who_was_suspended_is_none(review: Review, cast: Cast):
    User.objects.filter(pk=cast.second_adult.pk).update(is_active=False)
    review = Review.objects.get()

    with pytest.raises(publishing.Hindered, match="has no second adult"):
        publishing.publish(review, by=cast.coach, at=NOW)
