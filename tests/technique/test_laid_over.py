"""A club's own name for a thing stands wherever the thing is read."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from portal.digests import planning as digests
from portal.items.models import Verdict
from portal.meets.models import Entry, Meet
from portal.planning import gathering
from portal.review import telling
from portal.technique.models import Vocabulary, Wording
from tests.cast import DAY, NOW, Cast
from tests.digests.practice import DUE, correction, publish, weekly
from tests.planning.openings import NOT_LEGAL, has
from tests.planning.test_proposing import propose
from tests.review import words

pytestmark = pytest.mark.django_db


def call(cast: Cast, table: str, slug: str, name: str) -> None:
    Vocabulary.objects.get_or_create(club=cast.club)
    Wording.objects.create(club=cast.club, table=table, slug=slug, name=name)


@pytest.fixture
def known(cast: Cast) -> words.Words:
    known = words.learn()
    call(cast, Wording.Table.FAULT, known.dolphins.slug, "Second flick")
    call(cast, Wording.Table.CHECKPOINT, known.dolphins.checkpoint.slug, "One flick, then wait")
    return known


def test_it_works(as_coach: Client, cast: Cast, known: words.Words):
    has(cast, cast.swimmer, known.dolphins, NOT_LEGAL)
    pages = [("progress:swimmer", cast.swimmer.code), ("progress:squad", cast.squad.code)]
    for name, code in pages:
        page = as_coach.get(reverse(name, args=[code])).content.decode()
        assert known.dolphins.name not in page, name


def test_lane_plan_and_race_legal_list(as_coach: Client, cast: Cast, known: words.Words):
    has(cast, cast.swimmer, known.dolphins, NOT_LEGAL)
    [lane, *_free] = gathering.shown(propose(cast)).lanes
    assert lane.lane.name == "One flick, then wait"
    meet = Meet.objects.create(
        club=cast.club, name="Cup", starts=DAY, made_by=cast.coach, made_at=NOW
    )
    Entry.objects.create(meet=meet, swimmer=cast.swimmer, distance=100, stroke="breast")
    page = as_coach.get(reverse("meets:meet", args=[meet.code])).content.decode()
    assert "Second flick" in page


def test_mail(cast: Cast):
    said = correction("Ride the line.")
    call(cast, Wording.Table.CHECKPOINT, said["fault"].checkpoint.slug, "Long line")
    review = publish(cast, said)
    assert said["verdict"] == Verdict.WORK_ON
    assert [note.title for note in telling._notes(review)] == ["Long line"]
    assert "Long line" in weekly(digests.plan(DUE))["Ada"].text
