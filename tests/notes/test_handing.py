"""The child's view on a guardian's phone: no settings, no siblings, spoken to the child."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from portal.people.models import Guardianship
from portal.review import publishing
from portal.review.models import Review
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer, signed_in
from tests.notes import staging


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    brother = make_swimmer(cast.club, cast.squad, "Jonas Falk", born=DAY.replace(year=2016))
    Guardianship.objects.create(guardian=cast.guardian, swimmer=brother, starts=LONG_AGO)
    return review


@pytest.fixture
def phone(cast: Cast, review: Review) -> Client:
    client = signed_in(cast.guardian)
    client.post(reverse("notes:hand_over", args=[cast.swimmer.code]))
    return client


def text(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def test_it_works(phone: Client, cast: Cast, review: Review):
    notes = text(phone, reverse("notes:notes", args=[review.code]))
    home = text(phone, reverse("notes:home"))

    assert "Ines, your notes" in notes
    assert "What do you say?" in notes
    assert "Please hide this clip" in notes
    for page in (home, notes):
        for hidden in ("mailroom:choices", "doorway:you", "doorway:sign_out"):
            assert reverse(hidden) not in page
        assert reverse("people:child", args=[cast.swimmer.code]) not in page
        assert "Jonas" not in page
        assert reverse("concern") in page


def test_the_grown_up_takes_it_back(phone: Client, cast: Cast):
    phone.post(reverse("notes:hand_back"))

    home = text(phone, reverse("notes:home"))
    assert "Jonas" in home
    assert reverse("doorway:sign_out") in home
    assert "Ines: notes" in home


def test_what_the_child_presses_is_said_in_the_childs_name(phone: Client, review: Review):
    phone.post(reverse("notes:say", args=[review.code]), {"kind": "got it"})

    assert "<b>You</b>" in text(phone, reverse("notes:notes", args=[review.code]))


def test_a_child_with_a_sign_in_hands_nothing_over(cast: Cast, review: Review):
    client = signed_in(cast.swimmer_user)

    assert client.post(reverse("notes:hand_over", args=[cast.swimmer.code])).status_code == 403
    assert "Hand the phone" not in text(client, reverse("notes:home"))


def test_a_tie_that_ended_leaves_nothing_to_see(phone: Client, cast: Cast, review: Review):
    Guardianship.objects.filter(guardian=cast.guardian, swimmer=cast.swimmer).update(ends=DAY)

    assert phone.get(reverse("notes:notes", args=[review.code])).status_code == 404
    assert "Ines" not in text(phone, reverse("notes:home"))
