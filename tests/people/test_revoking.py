"""After a no, or a hiding, no byte of the film leaves the house at the next request.

Every picture of a clip is asked for by the thirteen people of the access table: the film, its
times and the still of the notes, the whole take with its strip and poster, and the sheet on
paper. Noor's clip of the same take stands beside Ines's, who is the one that is asked about.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from portal.people import consenting
from portal.people.models import Consent, User
from portal.recordings import hiding, holding, shutting
from portal.recordings.models import Clip, Recording
from portal.reports import gathering
from portal.reports.models import Sheet
from tests.cast import Cast
from tests.test_access import rows
from tests.world import Codes, build

PEOPLE = list(rows()[0])[2:]
STAFF = {"assistant", "coach", "head_coach"}
FAMILY = {"guardian", "swimmer_user"}
OWN = ("film", "times", "still")
WHOLE = ("whole film", "whole times", "strip", "poster")

Seen = dict[str, set[str]]
Event = Callable[[Cast], object]


@pytest.fixture
def codes(cast: Cast) -> Codes:
    codes = build(cast)
    sheet = Sheet.objects.get()
    sheet.file.save("sheet.pdf", ContentFile(b"%PDF a still"), save=False)
    sheet.made_of = gathering.content(cast.session, at=timezone.now()).fingerprint()
    sheet.save()
    return codes


def addresses(codes: Codes) -> dict[str, str]:
    take = codes["recording"]
    own, whole = codes["copy[shown]"], codes["copy[whole]"]
    return {
        "film": reverse("recordings:film", args=[own]),
        "times": reverse("recordings:times", args=[own]),
        "still": reverse("notes:still", args=[codes["comment[shown]"]]),
        "whole film": reverse("recordings:film", args=[whole]),
        "whole times": reverse("recordings:times", args=[whole]),
        "strip": reverse("recordings:strip", args=[take]),
        "poster": reverse("recordings:poster", args=[take]),
        "sheet": reverse("reports:pdf", args=[codes["sheet"]]),
        "the other film": reverse("recordings:film", args=[codes["copy[draft]"]]),
    }


def seen(cast: Cast, codes: Codes) -> Seen:
    """By the name of each picture, who gets its bytes."""
    clients = {name: client_of(cast.person(name)) for name in PEOPLE}
    return {
        picture: {name for name, client in clients.items() if gets(client, address)}
        for picture, address in addresses(codes).items()
    }


def client_of(user: User | None) -> Client:
    client = Client()
    if user:
        client.force_login(user)
    return client


def gets(client: Client, address: str) -> bool:
    response = client.get(address)
    if response.streaming:
        assert response.getvalue()
    return response.status_code == 200


def who(names: tuple[str, ...], people: set[str]) -> Seen:
    return dict.fromkeys(names, people)


def test_it_works(cast: Cast, codes: Codes):
    """Before anything is said, so that what comes after can be missed."""
    assert seen(cast, codes) == {
        **who(OWN, STAFF | FAMILY | {"second_adult", "welfare"}),
        **who(WHOLE, STAFF | {"welfare"}),
        "sheet": {"coach", "head_coach"},
        "the other film": STAFF | {"welfare"},
    }


def no_to(purpose: Consent.Purpose) -> Event:
    """Of the other household, whose no outweighs the yes of the first."""

    def say(cast: Cast) -> None:
        consenting.answer(
            cast.swimmer, purpose, is_given=False, by=cast.co_guardian, at=timezone.now()
        )

    return say


def hide(cast: Cast) -> None:
    clip = Clip.objects.get(swimmers=cast.swimmer)
    hiding.hide(clip, by=cast.swimmer_user, at=timezone.now())


def hold(cast: Cast) -> None:
    holding.hold(Recording.objects.get(), by=cast.welfare, at=timezone.now())


def keep_from_families(cast: Cast) -> None:
    shutting.keep_from_families(Recording.objects.get(), by=cast.coach, at=timezone.now())


def let_the_yes_end(cast: Cast) -> None:
    Consent.objects.filter(swimmer=cast.swimmer).update(until=timezone.now().date())


NOBODY: set[str] = set()
NOT_TO_FAMILIES = {
    **who(OWN, STAFF | {"welfare"}),
    **who(WHOLE, STAFF | {"welfare"}),
    "sheet": NOBODY,
    "the other film": STAFF | {"welfare"},
}
TO_THE_OFFICER = {
    **who(OWN, {"welfare"}),
    **who(WHOLE, {"welfare"}),
    "sheet": NOBODY,
    "the other film": STAFF | {"welfare"},
}


@pytest.mark.parametrize(
    ("event", "left"),
    [
        (
            no_to(Consent.Purpose.FILM),
            {**who((*OWN, *WHOLE, "sheet"), NOBODY), "the other film": STAFF | {"welfare"}},
        ),
        (no_to(Consent.Purpose.SHOW), NOT_TO_FAMILIES),
        (let_the_yes_end, NOT_TO_FAMILIES),
        (keep_from_families, NOT_TO_FAMILIES),
        (hide, TO_THE_OFFICER),
        (hold, {**TO_THE_OFFICER, "the other film": {"welfare"}}),
    ],
    ids=["no to film", "no to showing", "the yes ends", "somebody unasked", "hidden", "held"],
)
def test_the_next_request_gets_nothing(cast: Cast, codes: Codes, event: Event, left: Seen):
    event(cast)

    assert seen(cast, codes) == left


def test_what_a_browser_kept_is_not_confirmed_to_it(cast: Cast, codes: Codes):
    """A player asks whether its copy still holds: after a no that is no question any more."""
    client = client_of(cast.guardian)
    paths = [addresses(codes)[picture] for picture in OWN]
    tags = [client.get(path).headers["ETag"] for path in paths]
    kept = [(path, {"If-None-Match": tag}) for path, tag in zip(paths, tags, strict=True)]
    assert [client.get(path, headers=asked).status_code for path, asked in kept] == [304] * 3

    hide(cast)

    assert [client.get(path, headers=asked).status_code for path, asked in kept] == [404] * 3


def test_a_sheet_that_may_not_be_handed_out_is_made_anew(cast: Cast, codes: Codes):
    coach = client_of(cast.coach)
    no_to(Consent.Purpose.SHOW)(cast)

    answer = coach.get(addresses(codes)["sheet"])

    page = reverse("reports:sheet", args=[cast.session.code])
    assert answer.headers["Location"] == page
    assert coach.post(page).headers["Location"] == page
    newest = Sheet.objects.first()
    assert newest is not None
    assert (newest.code != codes["sheet"], bool(newest.file)) == (True, False)
