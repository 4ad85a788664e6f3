"""The demo club, built from a short evening with real film."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from functools import partial
from io import StringIO
from typing import Any
from zoneinfo import ZoneInfo

import av
import pytest
from django.apps import apps
from django.core.management import CommandError, call_command

from portal.demo import building, casting, filming, reading, script
from portal.demo.filming import truth_of
from portal.items.models import Observation
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.meets.models import Entry
from portal.people import consenting
from portal.people.models import Club, Consent, Guardianship, Squad, Swimmer, User
from portal.planning.models import Plan
from portal.recordings import cutting, playing
from portal.recordings.models import Clip, Recording, Session
from portal.review import commenting, publishing
from portal.review.models import Comment, Review
from tests.cast import NOW, Cast

_FIRST, YOUTH, LAST = reading.sessions()
JUNIORS = replace(LAST, takes=(replace(LAST.takes[0], pieces=LAST.takes[0].pieces[:1]),))


def build(*practices: script.Practice, at: datetime = NOW) -> list[str]:
    said: list[str] = []
    building.build(at=at, say=said.append, practices=practices)
    return said


def rows() -> dict[str, int]:
    return {model._meta.label: model._default_manager.count() for model in apps.get_models()}


def test_it_works(transactional_db, mailoutbox) -> None:
    assert build(YOUTH) == [f"Youth, {YOUTH.theme}"]

    club = Club.objects.get()
    assert club.is_demo
    session = Session.objects.get()
    assert session.date == date(2026, 11, 9)
    assert [recording.state for recording in Recording.objects.all()] == ["ready", "ready"]
    assert session.film_order == [turn.swimmer_id for turn in session.turns.all()]
    assert {turn.swimmer for turn in session.turns.all() if turn.filmed_at} == {
        swimmer for clip in Clip.objects.all() for swimmer in clip.swimmers.all()
    }
    assert Plan.objects.get(squad__name="Youth").date == date(2026, 11, 20)
    assert Entry.objects.count() == 12
    for clip in Clip.objects.all():
        copy = playing.family_copy_of(clip)
        assert copy is not None
        assert copy.frame_count == clip.frame_count

    published = Review.objects.published()
    assert {str(review.swimmer) for review in published} == YOUTH.published
    for review in published:
        comments = review.comments.all()
        assert review.focus_id in {None, *(comment.pk for comment in comments)}
        assert all(comment.still.size > 5_000 for comment in comments)
        assert Observation.objects.filter(review_code=review.code).count() == comments.count()
    assert Review.objects.get(state=Review.State.DRAFT).swimmer.name == "Amara Obi"
    assert not Observation.objects.filter(swimmer__first_name="Amara").exists()

    readers = {"Ada Falk", "Bela Korda", "Ines Falk", "Ewa Wilk", "Tomasz Wilk"}
    mails = OutgoingMail.objects.all()
    assert sorted(mail.recipient.name for mail in mails) == sorted(readers)
    assert {mail.state for mail in mails} == {OutgoingMail.State.SENT}
    assert len(mailoutbox) == len(readers)
    assert not Job.objects.exclude(state=Job.State.DONE).exists()

    before = rows()
    build(YOUTH, at=NOW.replace(month=12))
    assert rows() == before


def test_a_build_that_was_cut_off_is_completed(transactional_db, monkeypatch) -> None:
    write = commenting.write

    def write_one(*args: Any, **fields: Any) -> Comment:
        if Comment.objects.exists():
            raise KeyboardInterrupt
        return write(*args, **fields)

    monkeypatch.setattr(commenting, "write", write_one)
    with pytest.raises(KeyboardInterrupt):
        build(JUNIORS)
    assert Comment.objects.count() == 1
    assert not Review.objects.published().exists()
    monkeypatch.undo()
    build(JUNIORS)
    assert Recording.objects.count() == Clip.objects.count() == 1
    assert Comment.objects.count() == len(JUNIORS.takes[0].pieces[0].remarks)
    assert [mail.recipient.name for mail in OutgoingMail.objects.all()] == ["Ada Falk"]


def test_what_somebody_did_in_the_demo_is_left_alone(transactional_db) -> None:
    build(JUNIORS)
    coach = User.objects.get(name="Marta Lind")
    publishing.take_back(Review.objects.get(), by=coach, at=NOW)
    commenting.drop(Comment.objects.all()[0], by=coach, at=NOW)
    before = rows()
    build(JUNIORS)
    assert rows() == before
    assert Review.objects.get().state == Review.State.DRAFT
    assert Comment.objects.kept().count() == 1


def test_nobody_is_cut_without_consent(transactional_db) -> None:
    piece = replace(JUNIORS.takes[0].pieces[0], swimmer="Freya Dahl")
    with pytest.raises(cutting.Refused, match="Freya Dahl may not be filmed"):
        build(replace(JUNIORS, takes=(replace(JUNIORS.takes[0], pieces=(piece,)),)))
    assert not Clip.objects.exists()


def test_a_take_holds_every_frame_of_its_footage(transactional_db) -> None:
    take = YOUTH.takes[0]
    with filming.file_of(take) as path, av.open(str(path)) as film:
        frames = sum(1 for _frame in film.decode(video=0))
    assert frames == sum(truth_of(name).frames for name in take.footage)
    assert list(filming.first_frames(take).values()) == [0, 132]


def test_a_real_club_is_left_alone(cast: Cast) -> None:
    before = rows()
    with pytest.raises(CommandError, match=r"holds the club 'Otterbrook'.*another folder"):
        call_command("demo", stdout=StringIO(), skip_checks=True)
    assert rows() == before


def names(ids: set[int]) -> set[str]:
    return {swimmer.name for swimmer in Swimmer.objects.filter(pk__in=ids)}


def test_the_people(db) -> None:
    club = casting.assemble(at=NOW)
    assert casting.assemble(at=NOW) == club
    assert Squad.objects.filter(second_adult=None).count() == 0
    swimmers = {swimmer.name: swimmer for swimmer in Swimmer.objects.all()}
    for child in script.SWIMMERS:
        swimmer = swimmers[child.name]
        assert swimmer.age(NOW.date()) == child.age
        assert bool(swimmer.user) == child.has_account == (child.age >= 13)
    ties = Guardianship.objects
    assert ties.filter(swimmer=swimmers["Ines Falk"]).count() == 2
    assert ties.filter(guardian__name="Ada Falk").count() == 2
    everybody = list(swimmers.values())
    without = {
        purpose: {each.name for each in everybody}
        - names(consenting.allowed(purpose, of=everybody, on=NOW.date()))
        for purpose in Consent.Purpose
    }
    assert without[Consent.Purpose.FILM] == without[Consent.Purpose.SHOW] == {"Freya Dahl"}
    assert without[Consent.Purpose.MAIL_STILLS] == {"Freya Dahl", "Ines Falk", "Elif Aydin"}
    assert all(user.email.endswith(".example") for user in User.objects.all())
    assert not any(user.has_usable_password() for user in User.objects.all())


@pytest.mark.parametrize("day", [date(2026, 7, 31), date(2026, 8, 1), date(2028, 2, 29)])
def test_the_season_holds_the_day_of_building(db, day: date) -> None:
    at = datetime(day.year, day.month, day.day, 12, tzinfo=ZoneInfo("UTC"))
    club = casting.assemble(at=at)
    assert club.seasons.filter(starts__lte=day, ends__gte=day).count() == 1
    assert {swimmer.age(day) for swimmer in club.swimmers.all()} == {11, 14}


def test_the_command_says_what_stands(db, monkeypatch) -> None:
    monkeypatch.setattr(building, "build", partial(building.build, practices=()))
    said = StringIO()
    call_command("demo", stdout=said, skip_checks=True)
    assert "Otterbrook Swimming Club stands: 10 swimmers" in said.getvalue()
    assert Club.objects.get().is_demo
