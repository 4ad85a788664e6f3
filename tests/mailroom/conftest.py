from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from portal.mailroom.models import OutgoingMail
from tests.cast import NOW, Cast
from tests.mailroom.relay import Relay, relay

MakeMail = Callable[..., OutgoingMail]


@pytest.fixture
def server() -> Iterator[Relay]:
    with relay() as handler:
        yield handler


@pytest.fixture
def make_mail(cast: Cast) -> MakeMail:
    def make(**columns) -> OutgoingMail:
        return OutgoingMail.objects.create(
            **{
                "club": cast.club,
                "recipient": cast.guardian,
                "address": cast.guardian.email,
                "kind": OutgoingMail.Kind.NOTES_READY,
                "key": "notes ready:1:ada",
                "subject": "Ines: notes from Thursday are ready",
                "text": "Good: Tight streamline – “long and still”\n.\n",
                "html": "<p>Good: Tight streamline – “long and still”</p>",
                "created_at": NOW,
                **columns,
            }
        )

    return make
