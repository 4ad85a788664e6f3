from __future__ import annotations

from dataclasses import fields
from datetime import timedelta

import pytest
from django.http import Http404

from portal.people import consenting
from portal.people.access import Actor, actor_for
from portal.people.models import Consent
from portal.recordings import playing, showing
from portal.recordings.access import copy_for
from portal.recordings.models import Clip, Recording, Rendition, Showing
from tests.cast import DAY, NOW, Cast
from tests.recordings import filmed


@pytest.fixture
def clip(cast: Cast) -> Clip:
    clip: Clip = filmed.clip(cast, filmed.ready(cast), cast.swimmer)
    return clip


def test_it_works(cast: Cast, clip: Clip):
    copy = filmed.copy(clip.recording, clip)

    showing.show([clip], to=cast.swimmer, at=NOW)

    family = actor_for(cast.guardian, on=DAY)
    assert list(Clip.objects.visible_to(family)) == [clip]
    assert list(Rendition.objects.visible_to(family)) == [copy]
    assert not Clip.objects.visible_to(actor_for(cast.mate_guardian, on=DAY)).exists()


def test_showing_again_keeps_the_first_day(cast: Cast, clip: Clip):
    showing.show([clip], to=cast.swimmer, at=NOW)
    showing.show([clip], to=cast.swimmer, at=NOW + timedelta(days=3))

    assert Showing.objects.get().since == NOW


def test_a_removed_clip_stays_shut(cast: Cast, clip: Clip):
    Clip.objects.update(removed_at=NOW)

    showing.show([clip], to=cast.swimmer, at=NOW)

    assert not Showing.objects.exists()


def test_hiding_touches_one_family(cast: Cast, clip: Clip):
    showing.show([clip], to=cast.swimmer, at=NOW)
    showing.show([clip], to=cast.mate, at=NOW)

    showing.hide([clip], to=cast.swimmer)

    assert Showing.objects.get().swimmer == cast.mate


def test_staff_play_the_light_copy_until_the_full_one_stands(cast: Cast, clip: Clip):
    light = clip.recording.renditions.get()
    assert playing.copy_of(clip) == light

    full = filmed.copy(clip.recording, clip)

    assert playing.copy_of(clip) == full


def test_a_family_never_gets_the_whole_recording(cast: Cast, clip: Clip):
    assert playing.family_copy_of(clip) is None

    full = filmed.copy(clip.recording, clip)

    assert playing.family_copy_of(clip) == full


def test_there_may_be_nothing_to_play(cast: Cast):
    clip = filmed.clip(cast, filmed.recording(cast), cast.swimmer)

    assert playing.copy_of(clip) is None


PEOPLE = [field.name for field in fields(Cast) if field.type == "User"]


@pytest.mark.parametrize("state", ["shown", "not shown", "refused", "removed", "thrown away"])
def test_one_copy_and_the_filter_follow_the_same_rule(cast: Cast, clip: Clip, state: str):
    clip.swimmers.add(cast.mate)
    whole, own = clip.recording.renditions.get(), filmed.copy(clip.recording, clip)
    if state != "not shown":
        showing.show([clip], to=cast.swimmer, at=NOW)
    if state == "refused":
        consenting.answer(
            cast.mate, Consent.Purpose.SHOW, is_given=False, by=cast.mate_guardian, at=NOW
        )
    if state == "removed":
        Clip.objects.update(removed_at=NOW)
    if state == "thrown away":
        Recording.objects.update(thrown_away_at=NOW)

    for name in PEOPLE:
        actor = actor_for(getattr(cast, name), on=DAY)
        for copy in (whole, own):
            expected = Rendition.objects.visible_to(actor).filter(pk=copy.pk).exists()
            assert found(actor, copy) is expected, (name, copy)


def found(actor: Actor, copy: Rendition) -> bool:
    try:
        return copy_for(actor, copy.code) == copy
    except Http404:
        return False
