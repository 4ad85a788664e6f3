"""Who gets a weekly mail, when, and what of it is new to them."""

from __future__ import annotations

import threading
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.db import connection

from portal.digests import compiling, gathering, planning, withholding, writing
from portal.digests.gathering import LOOK_BACK
from portal.digests.models import Delivered
from portal.digests.timing import TOO_LATE
from portal.jobs.models import Job
from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, Guardianship, Squad, Swimmer, User
from portal.review import publishing
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer
from tests.digests.practice import DUE, add_sibling, correction, publish, stored, weekly

NEXT = DUE + timedelta(days=7)
LATE = DUE + timedelta(minutes=4)


def test_it_works(cast: Cast):
    publish(cast)
    mails = weekly(planning.plan(DUE))
    assert set(mails) == {"Ada", "Bela"}
    assert mails["Ada"].subject == "Ines at the pool, 16 to 22 November"
    assert mails["Ada"].kind == OutgoingMail.Kind.WEEKLY
    jobs = Job.objects.filter(kind="digests.send")
    assert {job.payload["mail"] for job in jobs} == {str(m.code) for m in mails.values()}


def test_planned_three_times_it_is_the_same(cast: Cast):
    publish(cast)
    planning.plan(DUE)
    before = [(m.key, m.text) for m in stored()], Delivered.objects.count(), Job.objects.count()
    for minutes in (0, 5, 60):
        assert planning.plan(DUE + timedelta(minutes=minutes)) == []
    after = [(m.key, m.text) for m in stored()], Delivered.objects.count(), Job.objects.count()
    assert after == before


def test_what_is_published_after_the_mail_waits_for_the_next(cast: Cast):
    publish(cast)
    planning.plan(DUE)
    publish(cast, correction("Late one."), on=date(2026, 11, 21), at=DUE)
    assert planning.plan(LATE) == []
    OutgoingMail.objects.update(state=OutgoingMail.State.SENT)
    [ada, _bela] = planning.plan(NEXT)
    assert "Late one." in ada.text
    assert "Heels right up" not in ada.text


def test_published_at_the_due_instant_waits_although_nothing_has_gone_yet(cast: Cast):
    """Otherwise it would hang on the minute of the planner's round."""
    publish(cast, at=DUE)
    assert planning.plan(LATE) == []
    assert len(planning.plan(NEXT)) == 2


def test_a_late_publication_of_an_old_practice_is_told(cast: Cast):
    publish(cast, on=date(2026, 10, 1), at=NOW)
    assert "Thursday 1 October, Quay Street." in planning.plan(DUE)[0].text


def test_nothing_new_no_mail(cast: Cast):
    assert planning.plan(DUE) == []
    publish(cast)
    planning.plan(DUE)
    OutgoingMail.objects.update(state=OutgoingMail.State.SENT)
    assert planning.plan(NEXT) == []


def test_a_draft_is_nothing_new(cast: Cast):
    review = publish(cast)
    publishing.take_back(review, by=cast.coach, at=NOW)
    assert planning.plan(DUE) == []


def test_published_anew_it_is_new(cast: Cast):
    review = publish(cast)
    planning.plan(DUE)
    OutgoingMail.objects.update(state=OutgoingMail.State.SENT)
    publishing.take_back(review, by=cast.coach, at=LATE)
    publishing.publish(review, by=cast.coach, at=LATE)
    assert len(planning.plan(NEXT)) == 2


def test_too_late_nothing_goes_and_the_notes_come_in_the_next(cast: Cast):
    publish(cast)
    assert planning.plan(DUE + TOO_LATE + timedelta(seconds=1)) == []
    assert len(planning.plan(NEXT)) == 2


def test_what_is_four_weeks_old_is_no_news(cast: Cast):
    publish(cast, at=DUE - LOOK_BACK - timedelta(seconds=1))
    assert planning.plan(DUE) == []


def test_two_households_know_nothing_of_each_other(cast: Cast):
    """Ada has a second child; Bela is tied to Ines alone."""
    publish(cast)
    publish(cast, correction("Only for Ada."), of=add_sibling(cast))
    mails = weekly(planning.plan(DUE))
    assert "Jonas" in mails["Ada"].text
    bela = mails["Bela"].subject + mails["Bela"].text + mails["Bela"].html
    for word in ("Jonas", "Ada", "Only for Ada", cast.guardian.email):
        assert word not in bela
    ada = mails["Ada"].subject + mails["Ada"].text + mails["Ada"].html
    assert "Bela" not in ada
    assert cast.co_guardian.email not in ada


@pytest.mark.parametrize(
    "columns", [{"barred_from": LONG_AGO}, {"barred_from": DUE.date()}, {"ends": DUE.date()}]
)
def test_a_guardian_who_is_none_that_day_gets_nothing(cast: Cast, columns: dict[str, date]):
    publish(cast)
    Guardianship.objects.filter(guardian=cast.co_guardian).update(**columns)
    assert set(weekly(planning.plan(DUE))) == {"Ada"}


def test_barred_for_one_child_the_other_is_told_without_a_trace(cast: Cast):
    sibling = add_sibling(cast)
    publish(cast)
    publish(cast, of=sibling)
    tie = Guardianship.objects.filter(guardian=cast.guardian, swimmer=cast.swimmer)
    tie.update(barred_from=DUE.date())
    ada = weekly(planning.plan(DUE))["Ada"]
    assert "Jonas" in ada.subject
    assert "Ines" not in ada.subject + ada.text + ada.html


def test_a_suspended_person_gets_nothing(cast: Cast):
    publish(cast)
    User.objects.filter(pk=cast.guardian.pk).update(is_active=False)
    assert set(weekly(planning.plan(DUE))) == {"Bela"}


def test_a_guardian_listed_twice_gets_one(cast: Cast):
    publish(cast)
    Guardianship.objects.create(
        guardian=cast.guardian, swimmer=cast.swimmer, starts=DAY, ends=date(2027, 1, 1)
    )
    ada = weekly(planning.plan(DUE))["Ada"]
    assert ada.text.count("INES") == 1


def test_a_coach_reads_of_their_own_child_only(cast: Cast):
    publish(cast)
    publish(cast, of=cast.mate)
    Guardianship.objects.create(guardian=cast.coach, swimmer=cast.mate, starts=LONG_AGO)
    marta = weekly(planning.plan(DUE))["Marta"]
    assert "Noor" in marta.text
    assert "Ines" not in marta.text


def test_children_in_two_clubs_are_two_mails(cast: Cast):
    """Each club has its own hour, and neither sends the other's notes."""
    publish(cast)
    other = Club.objects.get(name="Northmere")
    squad = Squad.objects.create(club=other, name="Minnows", second_adult=cast.second_adult)
    twin = make_swimmer(other, squad, "Lou Falk", born=date(2014, 1, 1))
    Guardianship.objects.create(guardian=cast.guardian, swimmer=twin, starts=LONG_AGO)
    review = publish(cast, of=twin)
    review.session.squad = squad
    review.session.save()
    mails = [mail for mail in planning.plan(DUE) if mail.recipient == cast.guardian]
    assert [(str(mail.club), mail.subject.split()[0]) for mail in mails] == [
        ("Otterbrook", "Ines"),
        ("Northmere", "Lou"),
    ]


@pytest.mark.parametrize(
    ("zone", "weekday", "clock", "due"),
    [
        ("America/Los_Angeles", 7, time(18), datetime(2026, 11, 23, 2, tzinfo=UTC)),
        ("Pacific/Auckland", 7, time(18), datetime(2026, 11, 22, 5, tzinfo=UTC)),
        ("Europe/London", 5, time(8), datetime(2026, 11, 20, 8, tzinfo=UTC)),
    ],
)
def test_the_clubs_own_day_and_hour(
    cast: Cast, zone: str, weekday: int, clock: time, due: datetime
):
    publish(cast)
    club = Club.objects.filter(pk=cast.club.pk)
    club.update(zone=zone, digest_weekday=weekday, digest_time=clock)
    assert planning.plan(due - timedelta(seconds=1)) == []
    assert len(planning.plan(due)) == 2


def test_another_day_in_the_same_week_is_no_second_mail(cast: Cast):
    publish(cast)
    Club.objects.update(digest_weekday=5)
    planning.plan(datetime(2026, 11, 20, 18, tzinfo=UTC))
    publish(cast, on=date(2026, 11, 20), at=datetime(2026, 11, 20, 20, tzinfo=UTC))
    Club.objects.update(digest_weekday=7)
    assert planning.plan(DUE) == []
    OutgoingMail.objects.update(state=OutgoingMail.State.SENT)
    assert "Friday 20 November" in planning.plan(NEXT)[0].text


def test_over_the_new_year(cast: Cast):
    publish(cast, on=date(2026, 12, 30), at=datetime(2026, 12, 30, 20, tzinfo=UTC))
    [mail, _] = planning.plan(datetime(2027, 1, 3, 18, tzinfo=UTC))
    assert mail.subject == "Ines at the pool, 28 December to 3 January"
    assert mail.key.startswith("weekly:2026-W53:")


def test_an_older_mail_that_never_left_is_overtaken(cast: Cast):
    publish(cast)
    [old, _] = planning.plan(DUE)
    publish(cast, correction("A week later."), on=date(2026, 11, 26), at=NEXT - timedelta(days=2))
    new = weekly(planning.plan(NEXT))["Ada"]
    assert "Heels right up" in new.text
    assert "A week later." in new.text
    old.refresh_from_db()
    assert old.state == OutgoingMail.State.SKIPPED


@pytest.mark.parametrize(
    ("state", "mails"),
    [
        (OutgoingMail.State.FAILED, 2),
        (OutgoingMail.State.SKIPPED, 2),
        (OutgoingMail.State.UNKNOWN, 0),
        (OutgoingMail.State.SENDING, 0),
        (OutgoingMail.State.SENT, 0),
    ],
)
def test_only_what_surely_did_not_arrive_is_told_again(
    cast: Cast, state: OutgoingMail.State, mails: int
):
    publish(cast)
    planning.plan(DUE)
    OutgoingMail.objects.update(state=state)
    assert len(planning.plan(NEXT)) == mails
    assert planning.plan(NEXT) == []


def test_one_mail_that_cannot_be_written_keeps_nobody_from_theirs(cast: Cast, monkeypatch):
    publish(cast)
    whole = compiling.compiled

    def compiled(news, **cut):
        if news.recipient == cast.guardian:
            raise RuntimeError("no ink")
        return whole(news, **cut)

    monkeypatch.setattr(writing, "compiled", compiled)
    with pytest.raises(ExceptionGroup, match="1 weekly mail"):
        planning.plan(DUE)
    assert set(weekly(stored())) == {"Bela"}
    monkeypatch.undo()
    assert set(weekly(planning.plan(LATE))) == {"Ada"}


@pytest.mark.django_db(transaction=True)
def test_two_planners_at_once_write_one_mail_each(cast: Cast, monkeypatch):
    """Both have gathered before either writes."""
    publish(cast)
    has_gathered = threading.Barrier(2, timeout=10)
    whole = gathering.gather

    def gather(edition, *, at):
        found = whole(edition, at=at)
        if found:
            has_gathered.wait()
        return found

    monkeypatch.setattr(gathering, "gather", gather)
    counts, errors = [], []

    def plan() -> None:
        try:
            counts.append(len(planning.plan(DUE)))
        except Exception as error:  # noqa: BLE001 - told by the test's own thread
            errors.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=plan) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert sum(counts) == 2
    assert set(weekly(stored())) == {"Ada", "Bela"}
    assert Delivered.objects.count() == 2


def test_an_idle_round_costs_the_same_for_many_families(cast: Cast, django_assert_num_queries):
    """Every five minutes for a day and a half: the clubs, and five queries each."""
    Club.objects.exclude(pk=cast.club.pk).delete()
    publish(cast)
    for number in range(20):
        add_sibling(cast, f"Child{number} Falk")
    planning.plan(DUE)
    with django_assert_num_queries(1 + 1 + 5):
        planning.plan(LATE)


def no_more(cast: Cast, swimmer: Swimmer | None = None) -> None:
    stopping.stop(cast.guardian, OutgoingMail.Kind.WEEKLY, at=NOW, swimmer=swimmer)


def test_who_wants_none_gets_none_and_the_other_household_does(cast: Cast):
    publish(cast)
    no_more(cast)
    assert set(weekly(planning.plan(DUE))) == {"Bela"}


def test_a_stop_for_one_child_leaves_the_others(cast: Cast):
    publish(cast)
    sibling = add_sibling(cast)
    publish(cast, {"words": "Jonas glides."}, of=sibling)
    no_more(cast, cast.swimmer)
    mail = weekly(planning.plan(DUE))["Ada"]
    assert "JONAS" in mail.text
    assert cast.swimmer.first_name not in mail.text


def test_a_stop_holds_for_a_mail_that_is_due_already(cast: Cast):
    publish(cast)
    mail = weekly(planning.plan(DUE))["Ada"]
    assert withholding.still_holds(mail, at=DUE)
    no_more(cast, cast.swimmer)
    assert not withholding.still_holds(mail, at=DUE)
