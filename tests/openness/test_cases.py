"""What people told is read by its recipients alone, and only added to."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.audit.models import Entry
from portal.openness.models import Case, Line
from portal.people.models import Membership
from tests.cast import Cast, Role, join
from tests.openness.told import WORDS, case, client_of, read

OTHERS = [
    *("guardian", "swimmer_user", "second_adult", "assistant", "coach", "head_coach"),
    *("volunteer", "rival_coach", "stranger"),
]


def address(told: Case) -> str:
    return f"/cases/{told.code}/"


def test_it_works(cast: Cast):
    told = case(cast, about="Piet")

    assert told.number in read(cast.welfare, "/cases/")
    page = read(cast.welfare, address(told))
    assert WORDS in page
    assert f"mailto:{cast.guardian.email}" in page

    client_of(cast.welfare).post(address(told), {"words": "Telephoned.", "state": "looked into"})

    told.refresh_from_db()
    assert told.state == Case.State.LOOKED_INTO
    lines = list(Line.objects.values_list("what", "words", "by"))
    by = cast.welfare.pk
    assert lines == [("note", "Telephoned.", by), ("looked into", "", by)]
    assert "Telephoned." in read(cast.welfare, address(told))


def test_reading_and_changing_one_stand_in_the_record_without_a_word_of_it(cast: Cast):
    told = case(cast)
    client = client_of(cast.welfare)
    client.get(address(told))
    client.post(address(told), {"words": "Telephoned.", "state": "closed"})

    entries = Entry.objects.filter(thing="case").values_list("action", "actor_code", "detail")
    assert list(entries) == [
        ("saw", cast.welfare.code, {}),
        ("changed", cast.welfare.code, {"state": "closed"}),
    ]


@pytest.mark.parametrize("name", OTHERS)
@pytest.mark.parametrize("reader", Case.Reader.values)
def test_nobody_else_finds_one(cast: Cast, name: str, reader: str):
    told = case(cast, reader=reader)
    client = client_of(getattr(cast, name))

    for response in [
        client.get("/cases/"),
        client.get(address(told)),
        client.post(address(told), {"words": "mine", "state": "closed"}),
    ]:
        assert response.status_code == 404
    assert not Line.objects.exists()


def test_officer_and_second_recipient_see_none_of_each_others(cast: Cast):
    officers, seconds = case(cast), case(cast, reader=Case.Reader.SECOND)

    assert seconds.number not in read(cast.welfare, "/cases/")
    assert client_of(cast.welfare).get(address(seconds)).status_code == 404
    assert officers.number not in read(cast.second_recipient, "/cases/")
    assert client_of(cast.second_recipient).get(address(officers)).status_code == 404
    assert WORDS in read(cast.second_recipient, address(seconds))


@pytest.mark.parametrize(
    ("role", "has_squad"),
    [(Role.HEAD_COACH, False), (Role.COACH, True), (Role.ASSISTANT, True), (Role.VOLUNTEER, False)],
)
def test_an_officer_who_coaches_there_hears_nothing(cast: Cast, role: Role, has_squad: bool):
    told = case(cast)
    join(cast.welfare, cast.club, role, cast.squad if has_squad else None)

    assert client_of(cast.welfare).get(address(told)).status_code == 404


def test_an_officer_who_has_left_hears_nothing(cast: Cast):
    told = case(cast)
    Membership.objects.filter(user=cast.welfare).delete()

    assert client_of(cast.welfare).get(address(told)).status_code == 404


def test_nothing_added_is_asked_again_with_what_was_typed(cast: Cast):
    told = case(cast)

    answer = client_of(cast.welfare).post(address(told), {"words": "", "state": "new"})

    assert answer.status_code == 422
    assert not Line.objects.exists()


def test_a_childs_address_is_not_given_away(cast: Cast):
    page = read(cast.welfare, address(case(cast, told_by=cast.swimmer_user)))

    assert cast.swimmer_user.email not in page
    assert "together with another adult" in page


def test_who_wants_no_answer_gets_none(cast: Cast):
    page = read(cast.welfare, address(case(cast, may_answer=False)))

    assert cast.guardian.email not in page
    assert "No answer is wanted" in page


def test_words_are_never_markup(cast: Cast):
    page = read(cast.welfare, address(case(cast, words="<script>x</script>", about="<b>him</b>")))

    assert "<script>x" not in page
    assert "<b>him" not in page


def test_many_cases_take_no_more_queries(cast: Cast):
    counts = []
    client = client_of(cast.welfare)
    for more in (1, 12):
        for _number in range(more):
            case(cast)
        with CaptureQueriesContext(connection) as asked:
            client.get("/cases/")
        counts.append(len(asked))
    assert counts[0] == counts[1]
