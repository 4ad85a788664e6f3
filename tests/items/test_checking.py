from __future__ import annotations

from uuid import uuid4

import pytest

from portal.items import checking, rebuilding
from portal.items.checking import Key, NoAnswer, NotAsked
from portal.items.models import CheckAnswer, ItemSummary, Observation, Verdict
from portal.items.needing import open_items
from portal.items.observing import observe, withdraw
from portal.people.models import Swimmer
from portal.recordings.models import Clip, Effort, View
from portal.review import publishing
from portal.review.models import Review
from portal.technique.models import Fault
from tests.cast import NOW, Cast
from tests.items.seen import fault, said, session
from tests.notes import staging
from tests.recordings.filmed import ready


@pytest.fixture
def early(cast: Cast) -> Fault:
    return open_fault(cast, "early")


@pytest.fixture
def review(cast: Cast) -> Review:
    return Review.objects.create(session=cast.session, swimmer=cast.swimmer)


def open_fault(cast: Cast, slug: str, *, stroke: str = "breast", **fields) -> Fault:
    what = fault(slug, **fields)
    observe(uuid4(), [said(cast, session(cast, days_ago=7), what, stroke=stroke)])
    return what


def key(what: Fault, stroke: str = "breast") -> Key:
    return Key(stroke, what.checkpoint_id, what.pk)


def film(cast: Cast, stroke: str, swimmer: Swimmer) -> None:
    clip = Clip.objects.create(
        recording=ready(cast),
        first_frame=0,
        last_frame=30,
        stroke=stroke,
        view=View.SIDE_UNDER,
        effort=Effort.EASY,
        cut_by=cast.coach,
        cut_at=NOW,
    )
    clip.swimmers.add(swimmer)


def check(cast: Cast, review: Review, **answers: str) -> None:
    keys = {key(Fault.objects.get(slug=slug)): word for slug, word in answers.items()}
    checking.answer(review, keys, by=cast.coach, at=NOW)


def publish(review: Review) -> None:
    observe(review.code, checking.close(review, said=(), at=NOW))


def asked(review: Review, **fields) -> list[str]:
    return [i.fault.slug for i in checking.open_items_for(review, **fields) if i.fault]


def test_it_works(cast: Cast, review: Review, early: Fault):
    late = open_fault(cast, "late", order=1)
    assert asked(review) == ["early", "late"]

    check(cast, review, early="clean", late="still there")
    assert checking.answers_to(review) == {key(early): "clean", key(late): "still there"}
    assert Observation.objects.count() == 2, "a draft counts for nothing"
    publish(review)

    written = Observation.objects.filter(source=Observation.Source.CHECK)
    assert {(o.fault, o.verdict, o.clip, o.coach, o.date, o.review_code) for o in written} == {
        (early, Verdict.GOOD, None, cast.coach, cast.session.date, review.code),
        (late, Verdict.WORK_ON, None, cast.coach, cast.session.date, review.code),
    }
    runs = dict(ItemSummary.objects.values_list("fault", "clean_run"))
    assert runs == {early.pk: 1, late.pk: 0}
    assert rebuilding.differences() == 0


def test_what_could_not_be_seen_is_no_look(cast: Cast, review: Review, early: Fault):
    check(cast, review, early="could not see")
    publish(review)

    assert not Observation.objects.filter(review_code=review.code).exists()
    assert ItemSummary.objects.get().looks == 1


def test_clean_of_one_fault_says_nothing_of_its_neighbours(
    cast: Cast, review: Review, early: Fault
):
    wide = open_fault(cast, "wide", checkpoint=early.checkpoint)

    check(cast, review, early="clean", wide="could not see")
    publish(review)

    assert dict(ItemSummary.objects.values_list("fault", "looks")) == {early.pk: 2, wide.pk: 1}


def test_the_last_answer_counts_and_others_stay(cast: Cast, review: Review, early: Fault):
    late = open_fault(cast, "late")
    check(cast, review, early="clean", late="clean")

    check(cast, review, early="still there")

    assert checking.answers_to(review) == {key(early): "still there", key(late): "clean"}


def test_taken_back_and_published_again(cast: Cast, review: Review, early: Fault):
    check(cast, review, early="clean")
    publish(review)

    withdraw(review.code)
    assert ItemSummary.objects.get().looks == 1
    assert checking.answers_to(review) == {key(early): "clean"}

    publish(review)
    assert ItemSummary.objects.get().looks == 2


def test_six_at_most(cast: Cast, review: Review):
    for number in range(8):
        open_fault(cast, f"fault-{number}", order=number)

    assert asked(review) == [f"fault-{number}" for number in range(6)]


def test_only_of_the_strokes_that_were_filmed(cast: Cast, review: Review, early: Fault):
    open_fault(cast, "flat", stroke="fly", order=1)
    film(cast, "fly", cast.mate)
    assert asked(review) == ["early", "flat"]

    film(cast, "fly", cast.swimmer)

    assert asked(review) == ["flat"]


def test_what_a_comment_says_is_not_asked(cast: Cast, review: Review, early: Fault):
    late = open_fault(cast, "late")

    assert asked(review, said={key(early)}) == ["late"]
    assert asked(review, said={key(late)._replace(fault=None)}) == ["early"]


def test_no_item_of_anybody_else(cast: Cast, review: Review):
    other = fault("other")
    observe(uuid4(), [said(cast, session(cast), other, swimmer=cast.mate)])

    assert not asked(review)
    with pytest.raises(NotAsked):
        check(cast, review, other="clean")


def test_a_word_that_is_no_answer(cast: Cast, review: Review, early: Fault):
    late = open_fault(cast, "late")

    with pytest.raises(NoAnswer, match="said"):
        checking.answer(review, {key(late): "clean", key(early): "said"}, by=cast.coach, at=NOW)

    assert not CheckAnswer.objects.exists()


def test_as_many_queries_for_six_as_for_one(cast: Cast, review: Review, django_assert_num_queries):
    for number in range(6):
        open_fault(cast, f"fault-{number}")
    everything = {Key.of(item): "clean" for item in ItemSummary.objects.all()}

    with django_assert_num_queries(2):
        assert len(checking.open_items_for(review)) == 6
    with django_assert_num_queries(3):
        checking.answer(review, everything, by=cast.coach, at=NOW)


def test_shares_are_told_once_most_is_answered(cast: Cast, early: Fault):
    for number in range(3):
        open_fault(cast, f"fault-{number}")
    assert checking.answered(cast.swimmer) == (0, 0)
    assert checking.answered(cast.swimmer).is_enough
    review = Review.objects.create(session=cast.session, swimmer=cast.swimmer)
    check(cast, review, early="clean")
    publish(review)
    assert checking.answered(cast.swimmer) == (1, 4)
    assert not checking.answered(cast.swimmer).is_enough

    withdraw(review.code)
    assert checking.answered(cast.swimmer).is_enough, "a draft says nothing"
    check(cast, review, **{"fault-0": "still there", "fault-1": "could not see"})
    publish(review)

    assert checking.answered(cast.swimmer) == (3, 4)
    assert checking.answered(cast.swimmer).is_enough


def test_publishing_a_review_writes_its_answers_and_taking_back_takes_them(cast: Cast):
    review = staging.evening(cast)
    open_fault(cast, "wide")
    observe(uuid4(), [said(cast, session(cast, days_ago=7), staging.fault())])
    check(cast, review, wide="clean", **{staging.fault().slug: "clean"})

    publishing.publish(review, by=cast.coach, at=NOW)

    checks = Observation.objects.filter(review_code=review.code, source=Observation.Source.CHECK)
    assert [o.fault.slug for o in checks if o.fault] == ["wide"], "a comment goes before"
    assert "wide" in {i.fault.slug for i in open_items(cast.swimmer, "breast") if i.fault}

    publishing.take_back(review, by=cast.coach, at=NOW)
    assert not checks.all().exists()
    assert checking.answers_to(review)
