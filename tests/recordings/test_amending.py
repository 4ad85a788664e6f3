from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from portal.audit.models import Entry
from portal.poolside import lining
from portal.recordings.models import Pool, Session
from portal.review.models import Comment
from tests.cast import DAY, NOW, Cast, signed_in
from tests.recordings import filmed


def change(cast: Cast) -> str:
    return reverse("recordings:change_session", args=[cast.session.code])


def call_off(cast: Cast) -> str:
    return reverse("recordings:call_off", args=[cast.session.code])


def typed(cast: Cast, **changes: object) -> dict[str, object]:
    return {
        "date": DAY.isoformat(),
        "kind": "practice",
        "pool": cast.pool.pk,
        "new_pool": "",
        "course": "",
        "theme": "starts",
        **changes,
    }


def test_it_works(cast: Cast, as_coach: Client):
    page = as_coach.get(change(cast)).content.decode()
    assert f'value="{DAY.isoformat()}"' in page
    assert "breaststroke kick" in page

    answer = as_coach.post(change(cast), typed(cast, date="2026-11-20", kind="clinic"))

    assert answer.headers["Location"] == reverse("recordings:session", args=[cast.session.code])
    cast.session.refresh_from_db()
    assert cast.session.date == DAY + timedelta(days=1)
    assert (cast.session.kind, cast.session.theme) == ("clinic", "starts")
    [entry] = Entry.objects.filter(action=Entry.Action.CHANGED, thing="session")
    assert entry.actor_code == cast.coach.code


def test_another_pool(cast: Cast, as_coach: Client):
    as_coach.post(change(cast), typed(cast, pool="", new_pool="Harbour Lido", course="50 m"))
    cast.session.refresh_from_db()
    assert cast.session.pool == Pool.objects.get(name="Harbour Lido")
    assert cast.session.course == "50 m"


def test_the_squad_stays(cast: Cast, as_coach: Client):
    as_coach.post(change(cast), typed(cast, squad=cast.other_squad.pk))
    cast.session.refresh_from_db()
    assert cast.session.squad == cast.squad


def test_the_day_stays_once_clips_are_cut(cast: Cast, as_coach: Client):
    filmed.clip(cast, filmed.ready(cast), cast.swimmer)
    page = as_coach.post(change(cast), typed(cast, date="2026-11-20"))
    assert page.status_code == 422
    assert "so its day stays" in page.content.decode()
    cast.session.refresh_from_db()
    assert (cast.session.date, cast.session.theme) == (DAY, "breaststroke kick")
    as_coach.post(change(cast), typed(cast))
    cast.session.refresh_from_db()
    assert cast.session.theme == "starts"


def test_the_day_stays_once_something_is_written(cast: Cast, as_coach: Client):
    Comment.objects.create(
        session=cast.session, verdict="good", author=cast.coach, created_at=NOW, changed_at=NOW
    )
    assert as_coach.post(change(cast), typed(cast, date="2026-11-20")).status_code == 422


def test_the_day_moves_with_film_that_is_not_cut(cast: Cast, as_coach: Client):
    filmed.ready(cast)
    assert as_coach.post(change(cast), typed(cast, date="2026-11-20")).status_code == 302


@pytest.mark.parametrize("wrong", [{"date": "soon"}, {"kind": "party"}, {"pool": ""}])
def test_what_cannot_be(cast: Cast, as_coach: Client, wrong: dict[str, str]):
    assert as_coach.post(change(cast), typed(cast, **wrong)).status_code == 422
    cast.session.refresh_from_db()
    assert cast.session.theme == "breaststroke kick"


def test_a_bare_session_is_called_off_with_its_film_list(cast: Cast, as_coach: Client):
    lining.put(cast.session, [cast.swimmer])
    assert "Call the session off" in as_coach.get(change(cast)).content.decode()
    assert as_coach.post(call_off(cast)).headers["Location"] == reverse("recordings:sessions")
    assert not Session.objects.filter(pk=cast.session.pk).exists()
    [entry] = Entry.objects.filter(action=Entry.Action.REMOVED)
    assert entry.thing_code == cast.session.code


def test_a_session_with_film_stays(cast: Cast, as_coach: Client):
    filmed.ready(cast)
    assert "Call the session off" not in as_coach.get(change(cast)).content.decode()
    answer = as_coach.post(call_off(cast), follow=True)
    assert "so it stays" in answer.content.decode()
    assert Session.objects.filter(pk=cast.session.pk).exists()


def test_what_is_to_come_is_marked(cast: Cast):
    Session.objects.filter(pk=cast.session.pk).update(date=DAY.replace(year=2099))
    page = signed_in(cast.coach).get(reverse("recordings:sessions")).content.decode()
    assert ">coming<" in page
