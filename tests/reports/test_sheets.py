from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.items.models import Verdict
from portal.kit.signs import PAINT
from portal.kit.storage import NoRoom, path_of
from portal.people.consenting import answer
from portal.people.models import Consent
from portal.reports import asking, gathering, sheets
from portal.reports.models import Sheet
from portal.review import publishing
from portal.review.models import Comment, Review
from portal.technique.models import Checkpoint, Fault
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer
from tests.notes import staging
from tests.reports.conftest import ask
from tests.reports.paper import POINTS_A_MM, SCALE, Paper, opened

SHOW = Consent.Purpose.SHOW


def made(cast: Cast) -> bytes:
    sheet = ask(cast)
    sheets.make(sheet, at=NOW)
    sheet.refresh_from_db()
    return path_of(str(sheet.file)).read_bytes()


def test_it_works(cast: Cast, out, caplog: pytest.LogCaptureFixture):
    pdf = made(cast)

    with opened(pdf) as paper:
        assert paper.pages == 1
        for words in (
            "Thursday 19 November 2026",
            "Juniors · Quay Street, 25 m · breaststroke kick",
            "Ines Falk",
            "Patient line off the wall",
            "work on · the focus · breaststroke",
            "Your hands part a second after the wall",
            "Think: Ride the line.",
            "Push and ride",
            "6 x 15",
            "Take care. Come up whenever you like. Know where the wall is.",
            "Good Heels close to the hips",
            "Looks not legal One small dolphin",
            "A warning from one view, not an official’s decision.",
            "Rule: One dolphin kick, World Aquatics, edition of 2017 to 2023 (not checked",
            "On deck",
            "Not on this sheet: Noor Haan.",
            "It ranks nobody and decides no race.",
            "Your club’s rules, the lifeguards and medical advice come before",
            "1 / 1",
        ):
            assert words in paper.words
        assert len(paper.boxes()) == 1, "one still: that of the focus"
    assert [record.message for record in caplog.records if "weasy" in record.name] == []


def sign_before(paper: Paper, words: str, paint: str) -> tuple[str, float]:
    """The sign that stands left of `words`, found by its paint: the colour in its middle, and how
    much of its box of 14 px the paint fills."""
    left, bottom, _right, top = paper.place_of(words)
    size, middle = 14 * 0.75, (bottom + top) / 2
    first = left - 5.4 * POINTS_A_MM
    box = paper.crop(first, middle - size * 0.75, first + size, middle + size * 0.75)
    rows, columns = np.nonzero((np.abs(box - np.array(bytearray.fromhex(paint[1:]))) < 30).all(2))
    red, green, blue = box[round(rows.mean()), round(columns.mean())]
    filled = len(rows) / (size * SCALE) ** 2
    return f"#{red:02x}{green:02x}{blue:02x}", filled


def test_the_signs_on_the_sheet_are_themselves(cast: Cast):
    review = staging.evening(cast)
    point = Checkpoint.objects.create(slug="hands", name="Hands quick", strokes=" breast ")
    slow = Fault.objects.create(
        slug="slow", name="Hands slow", strokes=" breast ", checkpoint=point, severity="minor"
    )
    staging.comment(review, None, verdict=Verdict.WORK_ON, words="Quicker.", fault=slow)
    publishing.publish(review, by=cast.coach, at=NOW)

    with opened(made(cast)) as paper:
        ring = sign_before(paper, "Heels close to the hips", PAINT["good"])
        disc = sign_before(paper, "Hands quick", PAINT["work"])
        diamond = sign_before(paper, "One small dolphin", PAINT["legal"])

    assert (ring[0], disc[0], diamond[0]) == ("#ffffff", PAINT["work"], PAINT["legal-bar"])
    # Of its box a ring paints 0.31 and a disc 0.52, less the soft edges.
    assert 0.1 < ring[1] < 0.35 < disc[1]


def test_the_picture_is_the_still_of_the_focus(cast: Cast, out):
    [still] = gathering.content(cast.session, at=NOW).stills.values()
    assert still == str(Review.objects.get().focus.still)  # type: ignore[union-attr]

    with opened(made(cast)) as paper:
        [(left, bottom, right, top)] = paper.boxes()
        assert (right - left) / (top - bottom) == pytest.approx(16 / 9, rel=0.02)
        corner = paper.colour(right - 6, top - 6)
    assert max(corner) < 160, "grey water, no white paper"


@pytest.mark.parametrize(("who", "parent"), [("swimmer", "co_guardian"), ("mate", "mate_guardian")])
def test_a_no_takes_the_picture_off(cast: Cast, out, who: str, parent: str):
    """Also the no of somebody else in the clip."""
    focus = Review.objects.get().focus
    assert focus is not None
    assert focus.clip is not None
    focus.clip.swimmers.add(cast.mate)
    answer(getattr(cast, who), SHOW, is_given=False, by=getattr(cast, parent), at=NOW)

    content = gathering.content(cast.session, at=NOW)
    assert content.stills == {}
    with opened(made(cast)) as paper:
        assert paper.boxes() == []
        assert "no picture" in paper.words
        assert "Patient line off the wall" in paper.words


def test_a_still_that_is_gone_is_told_as_no_picture(cast: Cast, out):
    [still] = gathering.content(cast.session, at=NOW).stills.values()
    path_of(still).unlink()

    with opened(made(cast)) as paper:
        assert paper.boxes() == []
        assert "no picture" in paper.words


def test_a_focus_from_the_deck_has_no_picture(cast: Cast):
    review = staging.open_review(cast)
    review.focus = staging.comment(
        review, None, verdict=Verdict.WORK_ON, fault=staging.fault(), words="Chin up."
    )
    review.save(update_fields=["focus"])
    publishing.publish(review, by=cast.coach, at=NOW)

    with opened(made(cast)) as paper:
        assert "seen from the deck, not filmed" in paper.words
        assert "Chin up." in paper.words


def test_without_a_focus_the_first_picture_leads(cast: Cast):
    review = staging.evening(cast)
    Review.objects.filter(pk=review.pk).update(focus=None)
    review.refresh_from_db()
    publishing.publish(review, by=cast.coach, at=NOW)

    with opened(made(cast)) as paper:
        assert "Heels close to the hips good · breaststroke" in paper.words
        assert "Also to work on Patient line off the wall Push and ride, 6 x 15" in paper.words
        assert len(paper.boxes()) == 1


def test_drafts_and_dropped_comments_stay_off(cast: Cast, out):
    Comment.objects.filter(verdict=Verdict.GOOD).update(dropped_at=NOW)
    draft = staging.open_review(cast, cast.mate)
    staging.comment(draft, None, words="Only a draft.")

    with opened(made(cast)) as paper:
        assert "Patient line off the wall" in paper.words
        assert "Heels close to the hips" not in paper.words
        assert "Only a draft" not in paper.words
        assert "Not on this sheet: Noor Haan." in paper.words


def test_what_a_coach_wrote_is_only_words(cast: Cast):
    review = staging.evening(cast)
    evil = '<img src="file:///etc/passwd"><b>bold</b> & so on'
    Comment.objects.filter(words=staging.EARLY).update(words=evil, cue=evil[:100])
    publishing.publish(review, by=cast.coach, at=NOW)

    with opened(made(cast)) as paper:
        assert "<b>bold</b> & so on" in paper.words
        assert len(paper.boxes()) == 1


def test_a_second_run_leaves_it_alone(cast: Cast, out):
    sheet = ask(cast)
    sheets.make(sheet, at=NOW)
    path = path_of(f"sheets/{sheet.code}.pdf")
    path.write_bytes(b"the first")
    sheet.refresh_from_db()

    sheets.make(sheet, at=NOW + timedelta(hours=1))

    assert path.read_bytes() == b"the first"
    assert Sheet.objects.get().made_at == NOW


def test_two_runs_at_once_leave_one_file(cast: Cast, out):
    first, second = ask(cast), Sheet.objects.get()
    sheets.make(first, at=NOW)
    sheets.make(second, at=NOW)

    assert [path.name for path in path_of("sheets").iterdir()] == [f"{first.code}.pdf"]
    assert path_of(str(Sheet.objects.get().file)).read_bytes().startswith(b"%PDF")


def test_a_new_sheet_lets_go_of_the_old_one(cast: Cast, out):
    made(cast)
    never_made = ask(cast)
    made(cast)

    newest = Sheet.objects.get()
    assert [path.name for path in path_of("sheets").iterdir()] == [f"{newest.code}.pdf"]

    sheets.make(never_made, at=NOW)
    assert [path.name for path in path_of("sheets").iterdir()] == [f"{newest.code}.pdf"]


def test_nothing_out_is_nothing_to_print(cast: Cast):
    staging.evening(cast)

    with pytest.raises(sheets.NothingToPrint, match="nothing to print"):
        sheets.make(ask(cast), at=NOW)


def test_no_room_leaves_nothing_behind(cast: Cast, out, settings):
    settings.RECORDING_SPARE_BYTES = 10**18
    sheet = ask(cast)

    with pytest.raises(NoRoom):
        sheets.make(sheet, at=NOW)

    sheet.refresh_from_db()
    assert not sheet.file


def stands(cast: Cast, *, at: datetime = NOW) -> bool:
    return asking.stands(Sheet.objects.get(), at=at)


def test_a_sheet_stands_until_something_on_it_changes(cast: Cast, out):
    made(cast)
    assert stands(cast)

    answer(cast.swimmer, SHOW, is_given=False, by=cast.co_guardian, at=NOW)
    assert not stands(cast)
    answer(cast.swimmer, SHOW, is_given=True, by=cast.co_guardian, at=NOW + timedelta(1))
    assert stands(cast)

    publishing.take_back(Review.objects.get(), by=cast.coach, at=NOW)
    assert not stands(cast)


def test_it_stands_no_longer_than_the_yes_to_its_picture(cast: Cast, out):
    last_day = DAY + timedelta(days=20)
    Consent.objects.filter(purpose=SHOW, swimmer=cast.swimmer).update(until=last_day)
    made(cast)

    assert stands(cast, at=NOW + timedelta(days=19))
    assert not stands(cast, at=NOW + timedelta(days=20))


def test_publishing_one_more_ends_it(cast: Cast, out):
    made(cast)
    review = staging.open_review(cast, cast.mate)
    staging.comment(review, None)
    publishing.publish(review, by=cast.coach, at=NOW)

    assert not stands(cast)


def test_a_sheet_without_a_file_does_not_stand(cast: Cast, out):
    ask(cast)

    assert not stands(cast)


@pytest.mark.parametrize("count", [5, 30])
def test_the_number_of_queries_stands(cast: Cast, count: int):
    clip = staging.cut(staging.record(cast), cast.swimmer)
    for number in range(count):
        swimmer = make_swimmer(cast.club, cast.squad, f"Child {number}", born=LONG_AGO)
        review = Review.objects.create(
            session=cast.session, swimmer=swimmer, state=Review.State.PUBLISHED
        )
        staging.comment(review, clip, frame=12)
        staging.comment(review, clip, frame=30, verdict=Verdict.WORK_ON, fault=staging.fault())

    with CaptureQueriesContext(connection) as spent:
        content = gathering.content(cast.session, at=NOW)
        content.fingerprint()
        asked = len(spent)
        gathering.with_terms(content)
        assert all(block.lead and block.work_on and block.cautions for block in content.blocks)

    assert len(content.blocks) == count
    assert (asked, len(spent)) == (4, 7)


def test_many_swimmers_fill_pages_and_nobody_is_cut_in_two(cast: Cast):
    clip = staging.cut(staging.record(cast), cast.swimmer)
    for number in range(9):
        swimmer = make_swimmer(cast.club, cast.squad, f"Child {number}", born=LONG_AGO)
        review = Review.objects.create(
            session=cast.session, swimmer=swimmer, state=Review.State.PUBLISHED
        )
        staging.comment(review, clip, frame=12, words=f"Words for child {number}.")

    with opened(made(cast)) as paper:
        texts = [page.get_textpage().get_text_range() for page in paper.document]
    assert len(texts) > 1
    for number in range(9):
        [page] = [text for text in texts if f"Child {number}" in text]
        assert f"Words for child {number}." in page
    assert all("It ranks nobody" in text for text in texts), "the foot stands on every page"
