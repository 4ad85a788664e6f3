"""Whatever happens in a club, in whatever order: the databases' filters, the rules for one
thing and a plain oracle agree on who sees what."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any, TypeVar

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from portal.people import consenting
from portal.people.access import actor_for
from portal.people.ages import GROWN_UP
from portal.people.models import (
    Club,
    Consent,
    EmergencyLook,
    Membership,
    Suspension,
)
from portal.recordings import showing
from portal.recordings.models import Clip, Recording, Session
from portal.review.models import Review
from portal.roster import accepting, guarding, inviting, moving
from tests.recordings import filmed
from tests.sight.club import BORN, FilmedClub
from tests.sight.oracle import Film
from tests.soak import count

Thing = TypeVar("Thing")
AN_HOUR = timedelta(minutes=60)
GUARDIANS = ["guardian", "co_guardian", "mate_guardian"]
STAFF = ["head_coach", "coach", "assistant", "other_coach"]
PEOPLE = [
    *STAFF,
    *GUARDIANS,
    "swimmer_user",
    "mate_user",
    "second_adult",
    "welfare",
    "volunteer",
    "rival_coach",
    "stranger",
]
SWIMMERS = ["swimmer", "mate"]
SQUADS = ["squad", "other_squad"]
# After every step some of them look; in the end everybody has.
LOOKERS = 3

swimmers = st.sampled_from(SWIMMERS)
guardians = st.sampled_from(GUARDIANS)
people = st.sampled_from(PEOPLE)
picks = st.integers(0, 99)


class Years(RuleBasedStateMachine):
    """One club with film, a rival one, and a calendar that only goes forward."""

    @initialize()
    def open(self) -> None:
        self.club = FilmedClub()
        self.club.open()
        self.plain = self.club.plain
        self.steps = 0
        self.film_a_session("squad")
        self.publish(0, "swimmer")

    def teardown(self) -> None:
        if hasattr(self, "club"):
            self.club.close()

    # What happens

    @rule(squad=st.sampled_from(SQUADS))
    def film_a_session(self, squad: str) -> None:
        """With a clip of everybody who swims in the squad, and one of all of them."""
        plain = self.plain
        there = [swimmer for swimmer in SWIMMERS if plain.squad.get(swimmer) == squad]
        if not there or len(plain.films) > 3:
            return
        session = Session.objects.create(
            squad=self.club.squad(squad),
            pool=self.club.cast.pool,
            course=self.club.cast.pool.course,
            date=plain.today,
            created_by=self.club.cast.coach,
            created_at=plain.now,
        )
        name = f"film {len(plain.films)}"
        recording = filmed.ready(self.club.cast, session=session)
        self.club.rows[name] = recording
        plain.films[name] = Film(squad)
        companies = [{swimmer} for swimmer in there] + [set(there)] * (len(there) > 1)
        for number, company in enumerate(companies):
            clip = filmed.clip(self.club.cast, recording, *map(self.club.swimmer, sorted(company)))
            self.club.rows[f"{name}, {number}"] = clip
            plain.films[name].clips[f"{name}, {number}"] = company

    @rule(pick=picks, swimmer=swimmers)
    def publish(self, pick: int, swimmer: str) -> None:
        name = self.club.any(self.plain.films, pick)
        film = self.plain.films[name]
        clips = [clip for clip, company in film.clips.items() if swimmer in company]
        if not clips:
            return
        session = self.club.recording(name).session
        Review.objects.update_or_create(
            session=session,
            swimmer=self.club.swimmer(swimmer),
            defaults={"state": Review.State.PUBLISHED},
        )
        rows = [self.club.clip(clip) for clip in clips]
        showing.show(rows, to=self.club.swimmer(swimmer), at=self.plain.now)
        self.plain.out.add((name, swimmer))
        self.plain.shown |= {(c, swimmer) for c in clips if c not in self.plain.removed}

    @rule(pick=picks)
    @precondition(lambda self: self.plain.out)
    def take_back(self, pick: int) -> None:
        name, swimmer = self.club.any(self.plain.out, pick)
        row = self.club.swimmer(swimmer)
        session = self.club.recording(name).session
        Review.objects.filter(session=session, swimmer=row).update(state=Review.State.DRAFT)
        clips = self.plain.films[name].clips
        showing.close([self.club.clip(clip) for clip in clips], to=row)
        self.plain.out.discard((name, swimmer))
        self.plain.shown -= {(clip, swimmer) for clip in clips}

    @rule(person=people, swimmer=swimmers)
    def link(self, person: str, swimmer: str) -> None:
        """Anybody may be a parent: of a swimmer here, a coach, an officer, a stranger."""
        if (person, swimmer) in self.plain.guards or person.endswith("_user"):
            return
        row, user, today = self.club.swimmer(swimmer), self.club.user(person), self.plain.today
        try:
            guarding.link(row, user, called=person, on=today, **self._head_coach())
        except guarding.NotTied:
            assert self.plain.age(swimmer) >= GROWN_UP or row.guardianships.filter(
                ends=None
            ).count() == (guarding.MOST_GUARDIANS)
            return
        self.plain.guards.add((person, swimmer))
        self.plain.waits.add((person, swimmer))
        self._compare(person)

    @rule(pick=picks, year=st.sampled_from([2012, 2012, 2011]))
    @precondition(lambda self: self.plain.waits)
    def accept(self, pick: int, year: int) -> None:
        """Both swimmers were born in 2012."""
        person, swimmer = self.club.any(self.plain.waits, pick)
        inviting.invite_guardians([self.club.tie(person, swimmer).get()], **self._head_coach())
        accepting.accept(self.club.user(person), year=year, at=self.plain.now)
        if year == BORN[swimmer].year:
            self.plain.waits -= {pair for pair in self.plain.named() if pair[0] == person}
        self._compare(person)

    @rule(pick=picks)
    @precondition(lambda self: self.plain.guards)
    def end_link(self, pick: int) -> None:
        person, swimmer = self.club.any(self.plain.guards, pick)
        tie = self.club.tie(person, swimmer).get()
        guarding.end(tie, on=self.plain.today, **self._head_coach())
        plain = self.plain
        for pairs in (plain.guards, plain.waits, plain.barred, plain.granted):
            pairs.discard((person, swimmer))
        for purpose in Consent.Purpose:
            self.plain.said.pop((person, swimmer, purpose.value), None)

    @rule(pick=picks)
    @precondition(lambda self: self.plain.guards)
    def bar(self, pick: int) -> None:
        person, swimmer = self.club.any(self.plain.guards, pick)
        tie = self.club.tie(person, swimmer).get()
        guarding.bar(tie, on=self.plain.today, **self._head_coach())
        self.plain.barred.add((person, swimmer))

    @rule(pick=picks)
    @precondition(lambda self: self.plain.guards)
    def grant_sight(self, pick: int) -> None:
        person, swimmer = self.club.any(self.plain.guards, pick)
        self.club.tie(person, swimmer).update(granted_on=self.plain.today)
        self.plain.granted.add((person, swimmer))

    @rule(
        swimmer=swimmers, pick=picks, purpose=st.sampled_from(Consent.Purpose), given=st.booleans()
    )
    def answer(self, swimmer: str, pick: int, purpose: Consent.Purpose, given: bool) -> None:
        asked = self.plain.answerers(swimmer)
        row, today = self.club.swimmer(swimmer), self.plain.today
        assert {u.pk for u in consenting.who_answers(row, on=today)} == {
            self.club.user(person).pk for person in asked
        }
        if not asked:
            return
        person = self.club.any(asked, pick)
        consenting.answer(
            row, purpose, is_given=given, by=self.club.user(person), at=self.plain.now
        )
        self.plain.said[person, swimmer, purpose.value] = given

    @rule(swimmer=swimmers, squad=st.sampled_from(SQUADS))
    def move(self, swimmer: str, squad: str) -> None:
        """Also back, and back into the club."""
        if self.plain.squad.get(swimmer) == squad:
            return
        to = self.club.squad(squad)
        moving.move(self.club.swimmer(swimmer), to=to, on=self.plain.today, **self._head_coach())
        self.plain.squad[swimmer] = squad
        self.plain.left.discard(swimmer)

    @rule(swimmer=swimmers)
    def leave(self, swimmer: str) -> None:
        moving.leave(self.club.swimmer(swimmer), on=self.plain.today, **self._head_coach())
        self.plain.squad.pop(swimmer, None)
        self.plain.left.add(swimmer)

    @rule(person=st.sampled_from(STAFF))
    def end_role(self, person: str) -> None:
        Membership.objects.filter(user=self.club.user(person)).update(ends=self.plain.today)
        self.plain.roles = {role for role in self.plain.roles if role[0] != person}

    @rule(person=people)
    def suspend(self, person: str) -> None:
        """Or, of somebody who is suspended, lift it."""
        club = Club.objects.get(name="Otterbrook")
        stands = Suspension.objects.filter(user=self.club.user(person), club=club, lifted_at=None)
        if not stands.update(lifted_at=self.plain.now):
            Suspension.objects.create(
                user=self.club.user(person), club=club, by=self.club.cast.welfare, at=self.plain.now
            )
        self.plain.suspended ^= {(person, "Otterbrook")}

    @rule()
    def look_in_an_emergency(self) -> None:
        until = self.plain.now + AN_HOUR
        EmergencyLook.objects.create(
            user=self.club.cast.volunteer,
            club=self.club.cast.club,
            reason="a film does not play",
            at=self.plain.now,
            until=until,
        )
        self.plain.looking_until["volunteer"] = until

    @rule(pick=picks)
    def hide_or_show_again(self, pick: int) -> None:
        name = self.club.any(self.club.clips(), pick)
        is_hidden = name in self.plain.hidden
        hidden_at = None if is_hidden else self.plain.now
        Clip.objects.filter(pk=self.club.rows[name].pk).update(hidden_at=hidden_at)
        self.plain.hidden ^= {name}

    @rule(pick=picks, mark=st.sampled_from(["held", "not to be shown", "thrown away"]))
    def mark(self, pick: int, mark: str) -> None:
        name = self.club.any(self.plain.films, pick)
        marks = self.plain.films[name].marks
        marks ^= {mark}
        now = self.plain.now if mark in marks else None
        changed: dict[str, dict[str, object]] = {
            "held": {"held_at": now},
            "not to be shown": {"not_to_be_shown": mark in marks},
            "thrown away": {"thrown_away_at": now},
        }
        Recording.objects.filter(pk=self.club.rows[name].pk).update(**changed[mark])

    @rule(pick=picks)
    def remove_a_clip(self, pick: int) -> None:
        name = self.club.any(self.club.clips(), pick)
        Clip.objects.filter(pk=self.club.rows[name].pk).update(removed_at=self.plain.now)
        self.plain.removed.add(name)

    @rule(minutes=st.sampled_from([1, 59, 60]))
    def minutes_pass(self, minutes: int) -> None:
        self._go_to(self.plain.now + timedelta(minutes=minutes))

    @rule(swimmer=swimmers, years=st.sampled_from([13, 18]), days=st.sampled_from([-1, 0]))
    def come_to_a_birthday(self, swimmer: str, years: int, days: int) -> None:
        born = BORN[swimmer]
        is_leap = (born.month, born.day) == (2, 29)
        day = date(born.year + years, 3, 1) if is_leap else born.replace(year=born.year + years)
        self._go_to(datetime.combine(day + timedelta(days=days), time(12), UTC))

    def _head_coach(self) -> dict[str, Any]:
        """By whom and when, as the verbs take it."""
        return {"by": self.club.cast.head_coach, "at": self.plain.now}

    def _go_to(self, moment: datetime) -> None:
        self.plain.now = max(self.plain.now, moment)
        self.plain.today = self.club.cast.club.day(self.plain.now)

    # What must hold

    @invariant()
    def everybody_agrees(self) -> None:
        if not hasattr(self, "club"):
            return
        self.steps += 1
        for turn in range(LOOKERS):
            self._compare(PEOPLE[(self.steps * LOOKERS + turn) % len(PEOPLE)])

    def _compare(self, person: str) -> None:
        plain = self.plain
        actor = actor_for(self.club.user(person), at=plain.now)
        clips = {row.pk: name for name, row in self.club.rows.items() if isinstance(row, Clip)}
        films = {row.pk: name for name, row in self.club.rows.items() if isinstance(row, Recording)}
        expected = {
            c for f in plain.films for c in plain.films[f].clips if plain.watches(person, f, c)
        }
        whole = {film for film in plain.films if plain.watches_whole(person, film)}
        read = {
            (film, swimmer)
            for film, swimmer in self._reviews()
            if plain.reads(person, film, swimmer)
        }

        assert {clips[pk] for pk in _ids(Clip.objects.visible_to(actor))} == expected, person
        assert {films[pk] for pk in _ids(Recording.objects.watched_by(actor))} == whole, person
        rows = Recording.objects.select_related("session__squad")
        seen, seen_whole = set(), set()
        for recording in rows.prefetch_related("clips__recording"):
            squad = recording.session.squad
            there = list(recording.clips.all())
            seen |= {clips[pk] for pk in showing.watchable(there, by=actor, squad=squad)}
            if showing.may_watch_whole(recording, by=actor, squad=squad):
                seen_whole.add(films[recording.pk])
        assert seen == expected, person
        assert seen_whole == whole, person
        found = Review.objects.visible_to(actor).select_related("session", "swimmer")
        assert {self._named(review) for review in found} == read, person

    def _reviews(self) -> set[tuple[str, str]]:
        return {self._named(row) for row in Review.objects.select_related("session", "swimmer")}

    def _named(self, review: Review) -> tuple[str, str]:
        [film] = [
            name
            for name, row in self.club.rows.items()
            if isinstance(row, Recording) and row.session_id == review.session_id
        ]
        [swimmer] = [s for s in SWIMMERS if self.club.swimmer(s).pk == review.swimmer_id]
        return film, swimmer


def _ids(rows) -> list[int]:
    return list(rows.values_list("pk", flat=True))


def test_it_works(db):
    run_state_machine_as_test(
        Years,
        settings=settings(
            max_examples=count(12, 120),
            stateful_step_count=count(26, 44),
            deadline=None,
            suppress_health_check=list(HealthCheck),
            # Making a long story short takes minutes; read the long one, or allow it by hand.
            phases=[Phase.generate],
        ),
    )
