from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.people import consenting
from portal.people.access import actor_for
from portal.people.models import Consent, Guardianship, Swimmer, User
from portal.roster import accepting, enrolling, guarding, inviting, jobs
from portal.roster.models import Invitation
from portal.roster.parsing import Named
from tests.cast import DAY, NOW, Cast, make_swimmer

OLE = Named("Ole Brook", "ole@example.org")
A_DAY = timedelta(days=1)


def siblings(cast: Cast) -> list[Swimmer]:
    return [
        make_swimmer(cast.club, cast.squad, "Ida Brook", born=DAY.replace(year=2013)),
        make_swimmer(cast.club, cast.squad, "Max Brook", born=DAY.replace(year=2015)),
    ]


def invited(cast: Cast, *children: Swimmer, named: Named = OLE) -> User:
    who: dict[str, Any] = {"by": cast.head_coach, "at": NOW}
    ties = [enrolling.name_guardian(child, named, on=DAY, **who) for child in children]
    inviting.invite_guardians(ties, **who)
    return User.objects.get(email=named.address)


def test_it_works(cast: Cast):
    """One mail an address, with first names and the plain address of the page alone."""
    invited(cast, *siblings(cast))

    mail = OutgoingMail.objects.get()
    assert mail.address == OLE.address
    assert "Ida, Max swim with us" in " ".join(mail.text.split())
    assert "Brook" not in mail.text + mail.html + mail.subject
    assert "/welcome/\n" in mail.text
    assert Job.objects.get().kind == "roster.send_invitation"


def test_one_child_swims_and_two_swim(cast: Cast):
    invited(cast, siblings(cast)[0])

    assert "Ida swims with us" in " ".join(OutgoingMail.objects.get().text.split())


def test_one_childs_year_opens_the_door_to_all_of_them(cast: Cast):
    children = siblings(cast)
    guardian = invited(cast, *children)

    assert accepting.accept(guardian, year=2015, at=NOW) == children
    assert actor_for(guardian, at=NOW).guards == {child.id for child in children}
    assert accepting.accept(guardian, year=2015, at=NOW) == []


def test_after_three_wrong_years_the_club_has_to_look(cast: Cast):
    guardian = invited(cast, *siblings(cast))

    for _try in range(3):
        assert accepting.accept(guardian, year=2014, at=NOW) == []

    assert accepting.accept(guardian, year=2015, at=NOW) == []
    assert not actor_for(guardian, at=NOW).is_family
    ties = Guardianship.objects.filter(guardian=guardian)
    inviting.invite_guardians(ties, by=cast.head_coach, at=NOW)
    assert accepting.accept(guardian, year=2015, at=NOW)


def test_it_runs_out_after_seven_days(cast: Cast):
    guardian = invited(cast, *siblings(cast))

    assert accepting.accept(guardian, year=2015, at=NOW + 7 * A_DAY) == []
    assert accepting.accept(guardian, year=2015, at=NOW + 7 * A_DAY - timedelta(seconds=1))


def test_a_barred_or_ended_tie_is_not_accepted(cast: Cast):
    ida, max_ = siblings(cast)
    guardian = invited(cast, ida, max_)
    guarding.bar(ida.guardianships.get(), on=DAY, by=cast.head_coach, at=NOW)
    guarding.end(max_.guardianships.get(), on=DAY, by=cast.head_coach, at=NOW)

    assert accepting.accept(guardian, year=2013, at=NOW) == []
    assert not Invitation.objects.filter(accepted_at__isnull=False).exists()


def test_two_clubs_ask_one_person_apart(cast: Cast):
    theirs = cast.rival_coach.memberships.get().club
    squad = theirs.squads.create(name="Theirs")
    other = make_swimmer(theirs, squad, "Kai Brook", born=DAY.replace(year=2010))
    guardian = invited(cast, siblings(cast)[0])
    invited(cast, other)

    assert accepting.accept(guardian, year=2010, at=NOW) == [other]
    assert actor_for(guardian, at=NOW).guards == {other.id}
    assert Invitation.objects.get(club=cast.club).wrong_years == 0


def test_a_known_person_keeps_their_name_and_the_club_sees_its_own(cast: Cast):
    ida = siblings(cast)[0]
    guardian = invited(cast, ida, named=Named("Somebody Else", cast.stranger.email))

    assert guardian == cast.stranger
    assert guardian.name == "Sid Nobody"
    assert ida.guardianships.get().name == "Somebody Else"


def test_a_coach_who_is_a_parent_has_the_rights_of_both(cast: Cast):
    ida = siblings(cast)[0]
    invited(cast, ida, named=Named("Marta", cast.coach.email))
    accepting.accept(cast.coach, year=2013, at=NOW)

    actor = actor_for(cast.coach, at=NOW)
    assert actor.guards == {ida.id}
    assert actor.leads(cast.squad)


def agreed(cast: Cast, child: Swimmer, address: str = "own@example.org", at=NOW) -> User:
    purpose = Consent.Purpose.SIGN_IN
    by = child.guardianships.get().guardian
    consenting.answer(child, purpose, is_given=True, by=by, at=at)
    inviting.invite_swimmer(child, address=address, by=by, at=at, copy_to=by)
    return User.objects.get(email=address)


def test_a_child_of_13_comes_in_once_a_guardian_agreed(cast: Cast):
    ida = siblings(cast)[0]
    guardian = invited(cast, ida)
    accepting.accept(guardian, year=2013, at=NOW)

    own = agreed(cast, ida)

    assert ida.age(DAY) == 13
    assert accepting.accept(own, year=2014, at=NOW) == []
    assert accepting.accept(own, year=2013, at=NOW) == [ida]
    assert actor_for(own, at=NOW).is_swimmer == {ida.id}
    mails = {mail.address: mail for mail in OutgoingMail.objects.exclude(subject__contains="film")}
    assert set(mails) == {"own@example.org", OLE.address}
    assert "own@example.org" not in mails[OLE.address].text


def test_a_refusal_of_another_guardian_shuts_it(cast: Cast):
    ida = siblings(cast)[0]
    invited(cast, ida)
    own = agreed(cast, ida)
    guarding.link(ida, cast.stranger, called="Sid", on=DAY, by=cast.head_coach, at=NOW)
    consenting.answer(ida, Consent.Purpose.SIGN_IN, is_given=False, by=cast.stranger, at=NOW)

    assert accepting.accept(own, year=2013, at=NOW) == []
    assert not actor_for(own, at=NOW).is_family


def test_who_may_not_be_invited(cast: Cast):
    ida, max_ = siblings(cast)
    guardian = invited(cast, ida)
    who: dict[str, Any] = {"by": guardian, "at": NOW, "copy_to": guardian}
    for child, address in [
        (max_, "max@example.org"),  # 11 years old
        (ida, guardian.email),
        (ida, cast.mate_user.email),
    ]:
        with pytest.raises(inviting.NotInvited):
            inviting.invite_swimmer(child, address=address, **who)
    with pytest.raises(inviting.NotInvited):
        inviting.invite_swimmer(ida, address="a@example.org", by=cast.head_coach, at=NOW)


@pytest.mark.parametrize(
    ("hour", "due"), [(7, (19, 8)), (8, (19, 8)), (19, (19, 19)), (20, (20, 8)), (23, (20, 8))]
)
def test_children_get_no_mail_at_night(cast: Cast, hour: int, due: tuple[int, int]):
    at = datetime(2026, 11, 19, hour, tzinfo=UTC)

    assert inviting.by_day(at, cast.club) == datetime(2026, 11, due[0], due[1], tzinfo=UTC)


def test_what_was_taken_back_does_not_leave(cast: Cast):
    ida = siblings(cast)[0]
    invited(cast, ida)
    guarding.forget(ida.guardianships.get(), by=cast.head_coach, at=NOW)

    jobs.send_invitation(Job.objects.get(), NOW)

    assert OutgoingMail.objects.get().state == OutgoingMail.State.SKIPPED
