from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from portal.items.models import Verdict
from portal.recordings.models import Rendition
from portal.review import chalk, drawing, stilling
from portal.review.models import Comment, Review
from tests.cast import Cast
from tests.media import jittered_ticks, read_number
from tests.notes import staging
from tests.review.drawings import SIX

# The scrap of cloth hides the highest cells of the number; these it leaves.
VISIBLE = 0xFF
FRAMES = [0, 1, 17, 29, 30, 58, 59]


def stilled(comment: Comment) -> Image.Image:
    stilling.make_still(comment)
    with Image.open(comment.still.path) as still:
        still.load()
    return still


def number_in(still: Image.Image, *, drawn_width: int) -> int:
    picture = np.asarray(still.convert("RGB"))
    return read_number(picture, scale=still.width / drawn_width) & VISIBLE


@pytest.mark.parametrize(
    ("rate", "ticks"),
    [
        (25, None),
        (30, None),
        (60, None),
        (Fraction(30_000, 1001), None),
        (30, jittered_ticks(60)),
    ],
    ids=["25", "30", "60", "29.97", "jittered"],
)
def test_it_works(cast: Cast, rate: Fraction | int, ticks: list[int] | None):
    clip = staging.cut(staging.record(cast, rate=rate, ticks=ticks), cast.swimmer)
    review = staging.open_review(cast)

    for frame in FRAMES:
        still = stilled(staging.comment(review, clip, frame=frame))
        assert number_in(still, drawn_width=640) == frame


def test_the_clips_own_copy_comes_first(cast: Cast):
    recording = staging.record(cast)
    clip = staging.cut(recording, cast.swimmer)
    staging.copy_clip(clip)
    recording.renditions.filter(kind=Rendition.Kind.LIGHT).update(file="copies/gone.mp4")
    made = staging.comment(staging.open_review(cast), clip, frame=3)

    assert number_in(stilled(made), drawn_width=640) == 3


@pytest.mark.parametrize(
    ("drawn", "fitted"),
    [((1280, 720), (960, 540)), ((360, 640), (304, 540)), ((640, 360), (640, 360))],
)
def test_it_fits_the_box_and_is_never_blown_up(
    cast: Cast, drawn: tuple[int, int], fitted: tuple[int, int]
):
    clip = staging.cut(staging.record(cast, frames=12, size=drawn), cast.swimmer, last=11)

    still = stilled(staging.comment(staging.open_review(cast), clip, frame=5))

    assert still.size == fitted
    assert (still.format, still.mode) == ("JPEG", "RGB")
    assert number_in(still, drawn_width=drawn[0]) == 5


def test_it_carries_no_metadata(cast: Cast):
    clip = staging.cut(staging.record(cast, frames=12), cast.swimmer, last=11)

    still = stilled(staging.comment(staging.open_review(cast), clip, frame=5))

    assert not still.getexif()
    assert set(still.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_the_verdicts_differ_in_grey():
    """On the same frame, without any colour, each sign is unlike the others."""
    water = Image.new("RGB", (640, 360), "#60808c")
    greys = {
        verdict: np.asarray(stilling.hang_sign(water, sign).convert("L")).astype(int)
        for verdict, sign in stilling.SIGNS.items()
    }

    for one in Verdict:
        cloth = greys[one][4:60, 12:60]
        assert cloth.max() > 240, "the cloth is white"
        assert cloth.min() < 140, "the sign is dark on it"
        for other in set(Verdict) - {one}:
            assert np.abs(greys[one] - greys[other]).max() > 80
    assert (greys[Verdict.GOOD][:, 120:] == greys[Verdict.GOOD][0, -1]).all(), "only the corner"


@pytest.fixture
def made(cast: Cast) -> Comment:
    clip = staging.cut(staging.record(cast), cast.swimmer)
    return staging.comment(staging.open_review(cast), clip, frame=20)


def test_an_unchanged_comment_keeps_its_still(made: Comment):
    stilling.make_still(made)
    path = Path(made.still.path)
    before = path.stat().st_mtime_ns

    stilling.make_still(made)

    assert (made.still.path, path.stat().st_mtime_ns) == (str(path), before)


@pytest.mark.parametrize("change", [{"frame": 21}, {"verdict": Verdict.WORK_ON}])
def test_a_changed_comment_gets_a_new_still(made: Comment, change: dict[str, object]):
    stilling.make_still(made)
    old = Path(made.still.path)
    Comment.objects.filter(pk=made.pk).update(**change)
    made.refresh_from_db()

    stilling.make_still(made)

    assert made.still.path != str(old)
    assert Path(made.still.path).exists()
    assert not old.exists()


def test_a_lost_file_is_drawn_again(made: Comment):
    stilling.make_still(made)
    Path(made.still.path).unlink()

    stilling.make_still(made)

    assert Path(made.still.path).exists()


def test_two_at_once_leave_one_file(made: Comment, monkeypatch):
    also = Comment.objects.get(pk=made.pk)
    draw = stilling.exact_frame

    def slowly(path: Path, moment: Fraction) -> Image.Image:
        monkeypatch.setattr(stilling, "exact_frame", draw)
        stilling.make_still(also)
        return draw(path, moment)

    monkeypatch.setattr(stilling, "exact_frame", slowly)
    stilling.make_still(made)

    assert made.still.name == also.still.name
    assert made.still.storage.listdir("stills")[1] == [Path(made.still.path).name]


def test_a_deck_note_has_none(cast: Cast):
    noted = staging.comment(staging.open_review(cast), None)

    stilling.make_still(noted)

    assert not noted.still


def test_without_film_there_is_none(made: Comment, cast: Cast):
    Rendition.objects.all().delete()

    stilling.make_still(made)

    assert not made.still
    assert Review.objects.get().swimmer == cast.swimmer


def test_a_time_between_frames_is_no_frame(made: Comment):
    copy = Rendition.objects.get()

    with pytest.raises(stilling.FrameMissing, match=r"has no frame at 0\.010000 s"):
        stilling.exact_frame(Path(copy.file.path), Fraction(1, 100))


def test_a_time_after_the_end_is_no_frame(made: Comment):
    copy = Rendition.objects.get()

    with pytest.raises(stilling.FrameMissing):
        stilling.exact_frame(Path(copy.file.path), Fraction(100))


# ---- what was drawn on the frame


def test_a_drawing_is_on_the_still(made: Comment):
    """As it is painted on the same frame, sign and all; of the film nothing else changes."""
    plain = np.asarray(stilled(made), dtype=int)
    made.drawing = SIX["mixed"]
    made.save(update_fields=["drawing"])

    drawn = np.asarray(stilled(made), dtype=int)

    differs = np.abs(drawn - plain).max(axis=-1) > 60
    expected = Image.new("RGB", (640, 360), "#ff00ff")
    drawing.paint(expected, chalk.read(SIX["mixed"]))
    painted = np.abs(np.asarray(expected, dtype=int) - [255, 0, 255]).max(axis=-1) > 0
    assert differs.sum() > 3000
    assert (differs & ~painted).sum() == 0


@pytest.mark.parametrize("change", [SIX["arrow"], None])
def test_another_drawing_is_another_still(made: Comment, change: dict[str, object] | None):
    made.drawing = SIX["line"]
    made.save(update_fields=["drawing"])
    stilling.make_still(made)
    assert stilling.is_current(made)
    old = Path(made.still.path)

    made.drawing = change
    made.save(update_fields=["drawing"])

    assert not stilling.is_current(made)
    stilling.make_still(made)
    assert stilling.is_current(made)
    assert not old.exists(), "what was rubbed out is nowhere any more"


def test_the_order_in_which_a_database_gives_a_drawing_back_changes_nothing(made: Comment):
    made.drawing = SIX["line"]
    made.save(update_fields=["drawing"])
    stilling.make_still(made)

    made.drawing = {key: SIX["line"][key] for key in sorted(SIX["line"])}

    assert stilling.is_current(made)
