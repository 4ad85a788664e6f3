"""The still of a moment at the size of a phone."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image, ImageChops, ImageStat

from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast
from tests.notes import staging
from tests.notes.test_views import filmed, read, small_address, still_address


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def test_it_works(review: Review, cast: Cast):
    large = read(cast.guardian, still_address(filmed(review)))
    small = read(cast.guardian, small_address(filmed(review)))

    with Image.open(BytesIO(large.getvalue())) as was, Image.open(BytesIO(small.content)) as now:
        assert now.format == "JPEG"
        assert now.size == (640, 360)
        same = was.resize(now.size).convert("RGB")
        apart = ImageStat.Stat(ImageChops.difference(same, now.convert("RGB"))).mean
        assert max(apart) < 4
    tag = small.headers["ETag"]
    assert tag != large.headers["ETag"]
    again = read(cast.guardian, small_address(filmed(review)), if_none_match=tag)
    assert (again.status_code, again.content) == (304, b"")
    assert small.headers["Cache-Control"] == "private, no-cache"
    assert read(cast.mate_user, small_address(filmed(review))).status_code == 404


def test_a_picture_that_is_gone_is_not_found(review: Review, cast: Cast):
    still = filmed(review).still
    still.storage.delete(str(still.name))

    assert read(cast.guardian, small_address(filmed(review))).status_code == 404
