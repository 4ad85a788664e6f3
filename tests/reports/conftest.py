from __future__ import annotations

import pytest

from portal.recordings.models import Session
from portal.reports import asking
from portal.reports.models import Sheet
from portal.review import publishing
from tests.cast import NOW, Cast
from tests.notes import staging


def ask(cast: Cast) -> Sheet:
    return asking.ask(cast.session, by=cast.coach, at=NOW)


@pytest.fixture
def out(cast: Cast) -> Session:
    """A session of which Ines's review is out: praise, a focus with a drill, a warning and a
    note from the deck, with real stills."""
    publishing.publish(staging.evening(cast), by=cast.coach, at=NOW)
    return cast.session


@pytest.fixture
def out_in_words(cast: Cast) -> Session:
    """The same without film, which takes its time."""
    review = staging.open_review(cast)
    staging.comment(review, None)
    publishing.publish(review, by=cast.coach, at=NOW)
    return cast.session
