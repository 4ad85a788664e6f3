"""Words planted in one club appear nowhere for anybody of another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from django.core.cache import cache
from django.db import connection, transaction
from django.http import HttpResponseBase
from django.test import Client
from django.test.utils import CaptureQueriesContext

from portal.mailroom.models import OutgoingMail
from portal.openness.models import Case
from portal.people.models import Club, Guardianship, Membership, Squad
from portal.recordings.models import Pool, Recording, Session
from portal.review import telling
from portal.review.models import Comment, Review
from tests.cast import DAY, LONG_AGO, NOW, Cast, consent_to_all, join, make_swimmer, make_user
from tests.test_access import address_of, rows
from tests.world import Codes, build

WORD = "Xyzzy"
# Whose visits a GET may write down: that they were here, and that they looked.
NOTES = ("audit_entry", "django_session")


@pytest.fixture
def rivals(cast: Cast) -> Cast:
    """Another club in the same states, where every name and every text has the word in it."""
    club = cast.rival_coach.memberships.get().club
    Club.objects.filter(pk=club.pk).update(name=f"{WORD} Northmere", policy=f"{WORD} policy")
    club.refresh_from_db()
    coach = make_user(f"{WORD} Coach")
    squad = Squad.objects.create(club=club, name=f"{WORD} squad", second_adult=cast.rival_coach)
    join(coach, club, Membership.Role.COACH, squad)
    join(make_user(f"{WORD} Officer"), club, Membership.Role.WELFARE)
    pool = Pool.objects.create(club=club, name=f"{WORD} pool", course="25 m")
    children = [
        make_swimmer(club, squad, f"{WORD}{n} {WORD}", born=cast.mate.born) for n in range(2)
    ]
    for child in children:
        guardian = make_user(f"{WORD} parent of {child.first_name}")
        Guardianship.objects.create(guardian=guardian, swimmer=child, starts=LONG_AGO)
        consent_to_all(child, guardian)
    session = Session.objects.create(
        squad=squad,
        pool=pool,
        course=pool.course,
        date=DAY,
        theme=f"{WORD} theme",
        created_by=coach,
        created_at=NOW,
    )
    return replace(
        cast,
        club=club,
        squad=squad,
        pool=pool,
        session=session,
        coach=coach,
        assistant=coach,
        swimmer=children[0],
        mate=children[1],
    )


@pytest.fixture
def codes(rivals: Cast) -> Codes:
    codes = build(rivals)
    Comment.objects.update(words=f"{WORD} words", cue=f"{WORD} cue", dose=f"{WORD} dose")
    Recording.objects.update(name=f"{WORD}.mp4")
    Case.objects.update(words=f"{WORD} told", about=f"{WORD} whom")
    return codes


def test_it_works(cast: Cast, rivals: Cast, codes: Codes):
    """Their own coach reads the word on their own pages."""
    client = Client()
    client.force_login(rivals.coach)
    found = {
        row["url"]
        for row in rows()
        if row["method"] == "GET" and WORD in read(client.get(address_of(row["url"], codes)))
    }

    assert len(found) > len(rows()) / 4


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['url']} {row['method']}")
def test_nobody_of_this_club_reads_a_word_of_the_other(
    row: dict[str, str], cast: Cast, codes: Codes
):
    address = address_of(row["url"], codes)
    for person in list(row)[2:]:
        if person == "rival_coach":
            continue
        for response in visited(cast, person, row["method"], address):
            assert WORD not in read(response), (person, response.headers)


def test_no_mail_carries_a_word_of_the_other_club(cast: Cast, rivals: Cast, codes: Codes):
    for review in Review.objects.published():
        telling.notes_ready(review, at=NOW)

    theirs = OutgoingMail.objects.filter(club=rivals.club)
    assert theirs.exists()
    for mail in theirs:
        assert mail.recipient.name.startswith(WORD)
    for mail in OutgoingMail.objects.exclude(club=rivals.club):
        assert WORD not in f"{mail.subject} {mail.text} {mail.html}"


@pytest.mark.parametrize(
    "row",
    [row for row in rows() if row["method"] == "GET"],
    ids=lambda row: str(row["url"]),
)
def test_looking_changes_nothing(row: dict[str, str], cast: Cast):
    """But that it is noted who looked."""
    codes = build(cast)
    address = address_of(row["url"], codes)
    for person in ("coach", "guardian", "head_coach", "welfare"):
        client = Client()
        client.force_login(getattr(cast, person))
        for method in ("GET", "HEAD"):
            with CaptureQueriesContext(connection) as asked:
                read(client.generic(method, address))
            written = [sql for sql in (q["sql"] for q in asked) if writes(sql)]
            assert written == [], (person, method)


def writes(sql: str) -> bool:
    verb, *rest = sql.split(None, 3)
    is_change = verb in ("INSERT", "UPDATE", "DELETE")
    return is_change and not any(table in " ".join(rest) for table in NOTES)


def visited(cast: Cast, person: str, method: str, address: str) -> Iterator[HttpResponseBase]:
    """The answer and, if it sends on, where that leads; what the visit changed is taken back."""
    cache.clear()
    client = Client()
    user = cast.person(person)
    with transaction.atomic():
        if user:
            client.force_login(user)
        answer = client.generic(method, address)
        yield answer
        if onward := answer.headers.get("Location", ""):
            yield client.get(onward)
        transaction.set_rollback(True)


def read(response: HttpResponseBase) -> str:
    """Headers and body."""
    streamed = response.streaming
    body = response.getvalue() if streamed else response.content  # type: ignore[attr-defined]
    return f"{response.headers} {body.decode(errors='replace')}"
