"""The squad's words on a page of notes: kept by a process, and never longer than an edition."""

from __future__ import annotations

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.notes.wording import Words
from portal.notes.wording import words as words_of
from portal.people.models import Club
from portal.technique.models import Edition, Fault, Vocabulary, Wording
from tests.notes import staging

pytestmark = pytest.mark.django_db


def a_club(name: str = "Otterbrook") -> Club:
    return Club.objects.get_or_create(name=name, defaults={"course": "25 m"})[0]


def words() -> Words:
    return words_of(a_club().pk)


def load() -> None:
    """What a load leaves behind when it has changed a word."""
    Edition.objects.update_or_create(pk=1, defaults={"stamp": uuid.uuid4()})


def test_it_works():
    fault, drill, praised = staging.fault_with_rule(), staging.drill(), staging.checkpoint()
    load()

    found = words()

    assert found.title(praised.pk, None) == "Heels close to the hips"
    assert found.title(None, fault.pk) == "One small dolphin"
    assert found.title(None, None) == "no tag yet"
    [(rule, says)] = found.faults[fault.pk].rules
    assert rule.startswith("One dolphin kick, World Aquatics, edition of 2017 to 2023 (not checked")
    assert says == "A single butterfly kick is allowed."
    assert found.faults[fault.pk].cautions == ("Know where the wall is.",)
    assert found.drills[drill.pk].cautions == ("Come up whenever you like.",)


def test_they_are_read_once_an_edition():
    fault = staging.fault()
    load()
    words()
    club = a_club().pk

    with CaptureQueriesContext(connection) as asked:
        assert words_of(club).faults[fault.pk].see == fault.see
    assert len(asked) == 1

    Fault.objects.update(see="Otherwise.")
    load()
    assert words().faults[fault.pk].see == "Otherwise."


def test_without_an_edition_nothing_is_kept():
    fault = staging.fault()
    words()
    Fault.objects.update(see="Otherwise.")

    assert words().faults[fault.pk].see == "Otherwise."


def test_retired_words_still_stand_in_old_notes():
    fault = staging.fault()
    Fault.objects.update(is_retired=True)
    load()

    assert words().title(None, fault.pk) == "Patient line off the wall"


def test_a_club_reads_its_own_words_and_nobody_elses():
    fault = staging.fault()
    load()
    assert words().faults[fault.pk].cue_young == "Be an arrow."

    Vocabulary.objects.create(club=a_club())
    Wording.objects.create(club=a_club(), table="faults", slug=fault.slug, cue_young="Be a spear.")
    Wording.objects.create(
        club=a_club(), table="checkpoints", slug=fault.checkpoint.slug, name="Long line"
    )

    assert words().faults[fault.pk].cue_young == "Be a spear."
    assert words().title(None, fault.pk) == "Long line"
    theirs = words_of(a_club("Northmere").pk)
    assert theirs.faults[fault.pk].cue_young == "Be an arrow."
    assert theirs.title(None, fault.pk) == "Patient line off the wall"
