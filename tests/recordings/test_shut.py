"""Film that must not be seen: what staff meet in its place, and that it stays where it is."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from portal.audit.models import Entry
from portal.people import consenting
from portal.people.models import Consent
from portal.recordings import cutting, throwing
from portal.recordings.models import Clip, Recording
from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast
from tests.notes import staging
from tests.recordings import filmed


@pytest.fixture
def recording(cast: Cast) -> Recording:
    recording = filmed.ready(cast)
    for number, swimmer in enumerate((cast.swimmer, cast.mate)):
        clip = filmed.clip(cast, recording, swimmer, first=100 * number, last=100 * number + 60)
        filmed.copy(recording, clip)
    return recording


def clip_of(swimmer) -> Clip:
    return Clip.objects.get(swimmers=swimmer)


def bench(client: Client, swimmer) -> str:
    return client.get(reverse("review:bench", args=[clip_of(swimmer).code])).content.decode()


def refuse_film(cast: Cast) -> None:
    consenting.answer(
        cast.mate, Consent.Purpose.FILM, is_given=False, by=cast.mate_guardian, at=NOW
    )


def test_it_works(cast: Cast, as_coach: Client, recording: Recording):
    """One family says no: the whole take shuts, the other's clip goes on from its own copy."""
    sorting = reverse("recordings:sorting", args=[recording.code])
    assert "data-film" in as_coach.get(sorting).content.decode()
    assert "data-film" in bench(as_coach, cast.mate)

    refuse_film(cast)

    page = as_coach.get(sorting).content.decode()
    assert "This film is shut" in page
    assert "data-film" not in page
    assert "not to be seen at the moment" in bench(as_coach, cast.mate)
    assert "data-film" not in bench(as_coach, cast.mate)
    assert "data-film" in bench(as_coach, cast.swimmer)
    session = as_coach.get(reverse("recordings:session", args=[cast.session.code]))
    assert "Shut: somebody in it is not to be seen." in session.content.decode()
    assert "poster.jpg" not in session.content.decode()


def test_a_clip_without_its_own_copy_does_not_fall_back_on_a_shut_take(
    cast: Cast, as_coach: Client, recording: Recording
):
    clip_of(cast.swimmer).renditions.all().delete()
    assert "data-film" in bench(as_coach, cast.swimmer)
    refuse_film(cast)

    assert "data-film" not in bench(as_coach, cast.swimmer)


def test_strip_and_poster_shut_with_the_film(cast: Cast, as_coach: Client, recording: Recording):
    for part in ("strip", "poster"):
        path = reverse(f"recordings:{part}", args=[recording.code])
        Recording.objects.update(held_at=NOW)
        assert as_coach.get(path).status_code == 404


def test_the_bench_says_why_where_it_may(cast: Cast, as_coach: Client, recording: Recording):
    Clip.objects.filter(pk=clip_of(cast.mate).pk).update(hidden_at=NOW, hidden_by=cast.mate_user)
    assert "hidden at the family’s wish" in bench(as_coach, cast.mate)
    Clip.objects.update(hidden_at=None, hidden_by=None)
    Recording.objects.update(held_at=NOW)
    assert "The welfare officer holds this film" in bench(as_coach, cast.mate)


def test_what_is_held_stays(cast: Cast, as_coach: Client, recording: Recording):
    Recording.objects.update(held_at=NOW)
    recording.refresh_from_db()
    with pytest.raises(throwing.Refused, match="welfare officer"):
        throwing.throw_away(recording, by=cast.coach, at=NOW)
    with pytest.raises(cutting.Refused, match="welfare officer"):
        cutting.remove(Clip.objects.select_related("recording")[0], by=cast.coach, at=NOW)
    as_coach.post(reverse("recordings:throw_away", args=[recording.code]))
    as_coach.post(reverse("recordings:remove_clip", args=[clip_of(cast.mate).code]))

    assert Recording.objects.kept().count() == 1
    assert Clip.objects.kept().count() == 2


def test_film_with_somebody_without_consent_is_kept_from_families(cast: Cast, as_coach: Client):
    review: Review = staging.evening(cast)
    clip = Clip.objects.get()
    turn = reverse("recordings:keep_from_families", args=[clip.recording.code])
    assert publishing.hindrances(review, by=cast.coach, at=NOW) == []

    for _twice in range(2):
        as_coach.post(turn, {"act": "keep"})

    reasons = publishing.hindrances(review, by=cast.coach, at=NOW)
    assert len(reasons) == 1
    assert "not to be shown to families" in reasons[0]
    session = as_coach.get(reverse("recordings:session", args=[cast.session.code]))
    assert "coaches look, families never see it" in session.content.decode()
    [entry] = Entry.objects.filter(detail={"what": "not to be shown"})
    assert entry.actor_code == cast.coach.code

    sorting = as_coach.get(reverse("recordings:sorting", args=[clip.recording.code]))
    assert "write what you see as deck notes" in sorting.content.decode()

    as_coach.post(turn, {"act": "show"})
    assert publishing.hindrances(review, by=cast.coach, at=NOW) == []
