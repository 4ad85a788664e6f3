"""What a family is told of items that stand otherwise, by way of published reviews."""

from __future__ import annotations

from datetime import timedelta

import pytest

from portal.digests import planning
from portal.mailroom.models import OutgoingMail
from tests.cast import DAY, NOW, Cast
from tests.digests.practice import DUE, PRAISE, correction, publish, weekly

pytestmark = pytest.mark.django_db


def before(cast: Cast, weeks: int, *said) -> None:
    publish(
        cast,
        *said,
        on=DAY - timedelta(weeks=weeks),
        at=NOW - timedelta(weeks=weeks),
    )


def ada(cast: Cast) -> OutgoingMail:
    return weekly(planning.plan(DUE))["Ada"]


def section(mail: OutgoingMail, name: str) -> str:
    """On one line, as it is wrapped in the text part."""
    return " ".join(mail.text.partition(f"\n{name}\n")[2].partition("\n\n")[0].split())


def test_it_works(cast: Cast):
    publish(cast, correction("Ride the line."))
    mail = ada(cast)
    assert section(mail, "What has changed") == "* New on the list: Patient line off the wall."
    assert "New on the list: Patient line off the wall." in mail.html


def test_what_is_seen_again_is_no_change(cast: Cast):
    before(cast, 1, correction("Ride the line."))
    publish(cast, correction("Again."))
    assert section(ada(cast), "What has changed") == ""


def test_what_nobody_has_looked_at(cast: Cast):
    before(cast, 8, correction("Ride the line."))
    publish(cast, PRAISE)
    assert section(ada(cast), "Not looked at lately") == (
        "* Patient line off the wall: nobody has looked since 24 September, so we can’t say."
    )


def test_a_focus_says_how_a_parent_can_help(cast: Cast):
    publish(cast, correction("Ride the line.", cue="Be long."), focus=0)
    mail = ada(cast)
    words = "How you can help: ask Ines to show you what “Be long.” means, and watch."
    assert words in " ".join(mail.text.split())
    assert words in " ".join(mail.html.split())


def test_without_news_nothing_is_said_of_a_child(cast: Cast):
    before(cast, 8, correction("Ride the line."))
    assert planning.plan(DUE) == []
