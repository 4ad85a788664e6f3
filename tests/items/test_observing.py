from __future__ import annotations

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from portal.items.models import Observation, Verdict
from portal.items.observing import observe, withdraw
from portal.technique.models import Checkpoint, Fault, Phase
from tests.cast import NOW, Cast


@pytest.fixture
def heels(db) -> Checkpoint:
    return Checkpoint.objects.create(
        slug="heels", name="Heels close to the hips", strokes=" breast ", phase=Phase.KICK
    )


def seen(cast: Cast, heels: Checkpoint, **changes) -> Observation:
    return Observation(
        **{
            "swimmer": cast.swimmer,
            "session": cast.session,
            "date": cast.session.date,
            "stroke": "breast",
            "checkpoint": heels,
            "verdict": Verdict.GOOD,
            "source": Observation.Source.COMMENT,
            "coach": cast.coach,
            "review_code": uuid4(),
            "at": NOW,
            **changes,
        }
    )


def test_it_works(cast: Cast, heels: Checkpoint):
    review = uuid4()

    observe(review, [seen(cast, heels, review_code=review)])

    assert Observation.objects.get().swimmer == cast.swimmer


def test_a_second_publishing_replaces_the_first(cast: Cast, heels: Checkpoint):
    review, other = uuid4(), uuid4()
    observe(other, [seen(cast, heels, review_code=other)])
    observe(review, [seen(cast, heels, review_code=review) for _ in range(2)])

    observe(review, [seen(cast, heels, review_code=review)])

    assert Observation.objects.filter(review_code=review).count() == 1
    assert Observation.objects.filter(review_code=other).count() == 1


def test_withdrawn_is_gone(cast: Cast, heels: Checkpoint):
    review = uuid4()
    observe(review, [seen(cast, heels, review_code=review)])

    withdraw(review)

    assert not Observation.objects.exists()


def test_a_correction_without_a_fault_is_refused(cast: Cast, heels: Checkpoint):
    with pytest.raises(IntegrityError), transaction.atomic():
        observe(uuid4(), [seen(cast, heels, verdict=Verdict.WORK_ON)])


def test_a_correction_with_its_fault_is_kept(cast: Cast, heels: Checkpoint):
    fault = Fault.objects.create(
        slug="low", name="Heels stop half way", strokes=" breast ", checkpoint=heels
    )

    observe(uuid4(), [seen(cast, heels, verdict=Verdict.WORK_ON, fault=fault)])

    assert Observation.objects.get().fault == fault
