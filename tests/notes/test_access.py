"""Which pictures of the notes somebody sees, asked of the rules and of the pages."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from portal.people.access import actor_for
from portal.people.consenting import answer
from portal.people.models import Consent, User
from portal.recordings import cutting
from portal.recordings.models import Clip
from portal.recordings.showing import watchable
from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast
from tests.notes import staging

READERS = ["coach", "head_coach", "assistant", "guardian", "swimmer_user", "second_adult"]


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def sees(cast: Cast, person: str) -> set[int]:
    user = cast.person(person)
    assert user
    return watchable(Clip.objects.all(), by=actor_for(user, at=NOW), squad=cast.squad)


@pytest.mark.parametrize("person", READERS)
def test_it_works(cast: Cast, review: Review, person: str):
    assert sees(cast, person) == {Clip.objects.get().pk}


@pytest.mark.parametrize("person", READERS)
def test_a_no_hides_them_from_all_but_the_squads_staff(cast: Cast, review: Review, person: str):
    answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.co_guardian, at=NOW)

    assert bool(sees(cast, person)) == (person in ["coach", "head_coach", "assistant"])


@pytest.mark.parametrize("person", READERS)
def test_a_clip_that_was_removed_is_hidden_from_everybody(cast: Cast, review: Review, person: str):
    cutting.remove(Clip.objects.get(), by=cast.coach, at=NOW)
    comment = review.comments.get(words=staging.EARLY)
    client = Client()
    client.force_login(getattr(cast, person))

    assert sees(cast, person) == set()
    assert client.get(reverse("notes:still", args=[comment.code])).status_code == 404
    page = client.get(reverse("notes:notes", args=[review.code])).content.decode()
    assert "<img" not in page
    assert "data-film" not in page
    assert staging.EARLY in page


def test_a_no_takes_the_address_of_the_film_from_the_page(cast: Cast, review: Review):
    own = staging.copy_clip(Clip.objects.get())

    def offers_film(person: User) -> bool:
        client = Client()
        client.force_login(person)
        page = client.get(reverse("notes:notes", args=[review.code])).content.decode()
        return str(own.code) in page

    assert offers_film(cast.guardian)
    answer(cast.swimmer, Consent.Purpose.SHOW, is_given=False, by=cast.co_guardian, at=NOW)
    assert not offers_film(cast.guardian)
    assert offers_film(cast.coach)
