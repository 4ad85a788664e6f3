from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from datetime import timedelta

import pytest
from django.http import Http404

from portal.people import consenting
from portal.people.access import Actor, actor_for
from portal.people.models import (
    Consent,
    EmergencyLook,
    SquadPlace,
    Swimmer,
)
from portal.recordings import playing, showing
from portal.recordings.access import copy_for
from portal.recordings.models import Clip, Recording, Rendition, Showing
from tests.cast import DAY, NOW, Cast
from tests.recordings import filmed

IN_AN_HOUR = NOW + timedelta(minutes=60)


@pytest.fixture
def clip(cast: Cast) -> Clip:
    clip: Clip = filmed.clip(cast, filmed.ready(cast), cast.swimmer)
    return clip


def test_it_works(cast: Cast, clip: Clip):
    copy = filmed.copy(clip.recording, clip)

    showing.show([clip], to=cast.swimmer, at=NOW)

    family = actor_for(cast.guardian, at=NOW)
    assert list(Clip.objects.visible_to(family)) == [clip]
    assert list(Rendition.objects.visible_to(family)) == [copy]
    assert not Clip.objects.visible_to(actor_for(cast.mate_guardian, at=NOW)).exists()


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

    showing.close([clip], to=cast.swimmer)

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


def refuse(cast: Cast, purpose: Consent.Purpose) -> None:
    consenting.answer(cast.mate, purpose, is_given=False, by=cast.mate_guardian, at=NOW)


def move(cast: Cast) -> None:
    SquadPlace.objects.filter(swimmer=cast.swimmer).update(squad=cast.other_squad)


def leave(cast: Cast) -> None:
    Showing.objects.all().delete()
    Swimmer.objects.filter(pk=cast.mate.pk).update(left_on=DAY)


STATES: dict[str, Callable[[Cast], object]] = {
    "shown": lambda cast: None,
    "not shown": lambda cast: Showing.objects.all().delete(),
    "not to be shown": lambda cast: refuse(cast, Consent.Purpose.SHOW),
    "unfilmed": lambda cast: refuse(cast, Consent.Purpose.FILM),
    "no answer": lambda cast: Consent.objects.filter(swimmer=cast.mate).delete(),
    "shut": lambda cast: Recording.objects.update(not_to_be_shown=True),
    "hidden": lambda cast: Clip.objects.update(hidden_at=NOW),
    "held": lambda cast: Recording.objects.update(held_at=NOW),
    "removed": lambda cast: Clip.objects.update(removed_at=NOW),
    "thrown away": lambda cast: Recording.objects.update(thrown_away_at=NOW),
    "moved": move,
    "left, not shown": leave,
    "left": lambda cast: Swimmer.objects.filter(pk=cast.mate.pk).update(left_on=DAY),
}


def look(cast: Cast) -> None:
    EmergencyLook.objects.create(
        user=cast.volunteer,
        club=cast.club,
        reason="a film does not play",
        at=NOW,
        until=IN_AN_HOUR,
    )


@pytest.mark.parametrize("state", STATES)
def test_one_copy_and_the_filter_follow_the_same_rule(cast: Cast, clip: Clip, state: str):
    clip.swimmers.add(cast.mate)
    whole, own = clip.recording.renditions.get(), filmed.copy(clip.recording, clip)
    showing.show([clip], to=cast.swimmer, at=NOW)
    STATES[state](cast)

    look(cast)
    for name in PEOPLE:
        actor = actor_for(getattr(cast, name), at=NOW)
        for copy in (whole, own):
            expected = Rendition.objects.visible_to(actor).filter(pk=copy.pk).exists()
            assert found(actor, copy) is expected, (name, copy)


EVERYBODY = {"coach", "assistant", "head_coach", "welfare", "volunteer"}
FAMILY = {"guardian", "co_guardian", "swimmer_user", "second_adult"}


@pytest.mark.parametrize(
    ("state", "see_the_clip", "see_it_all"),
    [
        ("shown", EVERYBODY | FAMILY, EVERYBODY),
        ("not shown", EVERYBODY, EVERYBODY),
        ("not to be shown", EVERYBODY, EVERYBODY),
        ("unfilmed", set(), set()),
        ("no answer", EVERYBODY, EVERYBODY),
        ("shut", EVERYBODY, EVERYBODY),
        ("hidden", {"welfare"}, {"welfare"}),
        ("held", {"welfare"}, {"welfare"}),
        ("removed", set(), EVERYBODY),
        ("thrown away", set(), set()),
        ("moved", EVERYBODY | FAMILY | {"other_coach"}, EVERYBODY),
        ("left", EVERYBODY | FAMILY, EVERYBODY),
        ("left, not shown", EVERYBODY - {"coach", "assistant"}, EVERYBODY),
    ],
)
def test_who_sees_it_in_which_state(
    cast: Cast,
    clip: Clip,
    state: str,
    see_the_clip: set[str],
    see_it_all: set[str],
):
    clip.swimmers.add(cast.mate)
    whole, own = clip.recording.renditions.get(), filmed.copy(clip.recording, clip)
    showing.show([clip], to=cast.swimmer, at=NOW)
    STATES[state](cast)
    look(cast)

    actors = {name: actor_for(getattr(cast, name), at=NOW) for name in PEOPLE}

    assert {name for name, actor in actors.items() if found(actor, own)} == see_the_clip
    assert {name for name, actor in actors.items() if found(actor, whole)} == see_it_all


def found(actor: Actor, copy: Rendition) -> bool:
    try:
        return copy_for(actor, copy.code) == copy
    except Http404:
        return False
