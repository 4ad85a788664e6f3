"""Please hide this clip: at once, from everybody, and without a reason."""

from __future__ import annotations

import pytest
from django.urls import reverse

from portal.audit.models import Entry
from portal.recordings.models import Clip
from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast, signed_in
from tests.notes import staging
from tests.recordings import filmed

READERS = ["coach", "head_coach", "assistant", "guardian", "co_guardian", "swimmer_user"]


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    clip = Clip.objects.get()
    filmed.copy(clip.recording, clip)
    return review


def press(user, what: str, review: Review):
    clip = Clip.objects.get()
    return signed_in(user).post(reverse(f"notes:{what}", args=[clip.code]), {"notes": review.code})


def bytes_of(review: Review) -> list[str]:
    clip = Clip.objects.get()
    [copy] = clip.renditions.all()
    [whole] = clip.recording.renditions.filter(clip=None)
    still = review.comments.exclude(still="").first()
    assert still
    return [
        reverse("notes:still", args=[still.code]),
        *(reverse(f"recordings:{part}", args=[copy.code]) for part in ("film", "times")),
        *(reverse(f"recordings:{part}", args=[whole.code]) for part in ("film", "times")),
    ]


@pytest.mark.parametrize("who", ["guardian", "swimmer_user"])
def test_it_works(cast: Cast, review: Review, who: str):
    page = reverse("notes:notes", args=[review.code])
    assert "Please hide this clip" in signed_in(cast.guardian).get(page).content.decode()

    response = press(getattr(cast, who), "hide", review)

    assert response.headers["Location"] == page
    for name in READERS:
        client = signed_in(getattr(cast, name))
        for address in bytes_of(review):
            assert client.get(address).status_code == 404, (name, address)
        shown = client.get(page).content.decode()
        assert "<img" not in shown
        assert "data-film" not in shown
        assert staging.EARLY in shown
        assert ("Show it again" in shown) == (name == who)
        is_staff = name in ("coach", "head_coach", "assistant")
        assert ("Hidden at the family’s wish" in shown) == is_staff
        assert ("no picture to show here at the moment" in shown) == (not is_staff and name != who)
        assert "Please hide this clip" not in shown
    [entry] = Entry.objects.filter(detail={"what": "hidden"})
    assert entry.actor_code == getattr(cast, who).code


def test_only_who_asked_shows_it_again(cast: Cast, review: Review):
    press(cast.swimmer_user, "hide", review)
    assert press(cast.guardian, "show_again", review).status_code == 302
    assert Clip.objects.get().hidden_at

    press(cast.swimmer_user, "show_again", review)

    assert Clip.objects.get().hidden_at is None
    assert (
        "<img"
        in signed_in(cast.guardian).get(reverse("notes:notes", args=[review.code])).content.decode()
    )


@pytest.mark.parametrize(
    "who", ["mate_guardian", "former_guardian", "coach", "stranger", "welfare"]
)
def test_nobody_else_hides_it(cast: Cast, review: Review, who: str):
    assert press(getattr(cast, who), "hide", review).status_code == 404
    assert Clip.objects.get().hidden_at is None


def test_a_draft_cannot_be_hidden_since_nobody_saw_it(cast: Cast, review: Review):
    publishing.take_back(review, by=cast.coach, at=NOW)

    assert press(cast.guardian, "hide", review).status_code == 404


def test_another_page_is_no_way_back(cast: Cast, review: Review):
    clip = Clip.objects.get()
    client = signed_in(cast.guardian)
    address = reverse("notes:hide", args=[clip.code])

    assert client.post(address, {"notes": "//example.com/"}).headers["Location"] == "/notes/"
