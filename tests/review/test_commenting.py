from __future__ import annotations

from datetime import timedelta
from itertools import count
from threading import Barrier, Thread
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.audit.models import Entry
from portal.people.models import Swimmer
from portal.recordings.models import Clip, Effort
from portal.review import commenting
from portal.review.models import Comment, Review
from tests import soak
from tests.cast import NOW, Cast
from tests.notes import staging
from tests.recordings import filmed
from tests.review import words

LATER = NOW + timedelta(minutes=5)


@pytest.fixture
def said(cast: Cast) -> words.Words:
    return words.learn()


@pytest.fixture
def clip(cast: Cast, said: words.Words) -> Clip:
    return staging.cut(filmed.ready(cast), cast.swimmer, first=10, last=50)


def write(clip: Clip, cast: Cast, **changed) -> Comment:
    fields: dict[str, Any] = {
        "frame": 20,
        "last_frame": None,
        "swimmers": [cast.swimmer],
        "verdict": "work on",
        "tag": "feet-low",
        "words": "The heels stop half way.",
        "cue": "Heels to the hips.",
        "drill": "heels-to-hands",
        "dose": "4 x 25",
        **changed,
    }
    return commenting.write(clip, by=cast.coach, at=NOW, **fields)


def test_it_works(clip: Clip, cast: Cast, said: words.Words):
    comment = write(clip, cast, focus=True)

    comment.refresh_from_db()
    assert (comment.frame, comment.last_frame, comment.version) == (20, None, 1)
    assert (comment.fault, comment.checkpoint) == (said.feet, said.heels)
    assert (comment.drill, comment.dose, comment.author) == (said.hands, "4 x 25", cast.coach)
    [review] = comment.reviews.all()
    assert (review.swimmer, review.session) == (cast.swimmer, cast.session)
    assert (review.focus, review.state) == (comment, Review.State.DRAFT)
    [entry] = Entry.objects.all()
    assert (entry.action, entry.thing_code) == (Entry.Action.MADE, comment.code)
    assert entry.detail == {"version": 1}


def test_praise_tags_a_checkpoint(clip: Clip, cast: Cast, said: words.Words):
    comment = write(clip, cast, verdict="good", tag="heels-close", cue="", drill="", dose="")
    assert (comment.tag, comment.fault) == (said.heels, None)


def test_a_draft_may_lack_its_tag(clip: Clip, cast: Cast):
    assert write(clip, cast, tag="", verdict="not legal").tag is None


@pytest.mark.parametrize(
    ("changed", "error", "field", "quotes"),
    [
        ({"tag": "feet-lo"}, commenting.UnknownTag, "tag", ["feet-lo", "feet-low"]),
        ({"tag": "zzz"}, commenting.UnknownTag, "tag", ["zzz", "Choose one"]),
        ({"verdict": "good"}, commenting.UnknownTag, "tag", ["feet-low"]),
        ({"drill": "heels-to-hand"}, commenting.UnknownDrill, "drill", ["heels-to-hands"]),
        ({"frame": 9}, commenting.OutsideClip, "frame", ["9", "10 to 50"]),
        ({"last_frame": 51}, commenting.OutsideClip, "last_frame", ["51", "10 to 50"]),
        ({"last_frame": 20}, commenting.OutsideClip, "last_frame", ["20", "later frame"]),
        ({"verdict": "bad"}, commenting.Refused, "verdict", ["bad"]),
        ({"verdict": "not legal"}, commenting.NotJudged, "tag", ["Feet not brought up"]),
        ({"swimmers": []}, commenting.NotInClip, "swimmers", ["somebody"]),
        ({"dose": "4 x 25 " * 6}, commenting.Refused, "dose", ["42", "40"]),
        ({"cue": "c" * 161}, commenting.Refused, "cue", ["161", "160"]),
        (
            {"verdict": "good", "tag": "heels-close", "focus": True},
            commenting.Refused,
            "focus",
            ["Praise"],
        ),
    ],
)
def test_it_refuses_and_says_why(clip: Clip, cast: Cast, changed, error, field, quotes):
    with pytest.raises(error) as refused:
        write(clip, cast, **changed)

    assert refused.value.field == field
    assert all(quote in str(refused.value) for quote in quotes)
    assert not Comment.objects.exists()
    assert not Review.objects.filter(focus__isnull=False).exists()


def test_a_swimmer_of_another_clip_is_refused(clip: Clip, cast: Cast):
    with pytest.raises(commenting.NotInClip, match="Noor Haan"):
        write(clip, cast, swimmers=[cast.swimmer, cast.mate])
    assert not Review.objects.exists()


def test_retired_tags_are_refused_but_stay_where_they_were_said(
    clip: Clip, cast: Cast, said: words.Words
):
    comment = write(clip, cast)
    said.feet.is_retired = said.hands.is_retired = True
    said.feet.save()
    said.hands.save()

    with pytest.raises(commenting.UnknownTag, match="feet-low"):
        write(clip, cast)
    changed = commenting.change(
        comment,
        version=1,
        by=cast.coach,
        at=LATER,
        tag="feet-low",
        drill="heels-to-hands",
        words="Half way.",
    )
    assert (changed.fault, changed.drill) == (said.feet, said.hands)


@pytest.mark.parametrize("effort", [Effort.DRILL, Effort.EASY, Effort.PRACTICE])
def test_not_legal_only_at_race_pace(cast: Cast, said: words.Words, effort: Effort):
    clip = staging.cut(filmed.ready(cast), cast.swimmer, effort=effort)
    with pytest.raises(commenting.NotJudged, match=str(effort.label)):
        write(clip, cast, verdict="not legal", tag="two-dolphins")


def test_not_legal_names_a_fault_with_a_rule(clip: Clip, cast: Cast, said: words.Words):
    comment = write(clip, cast, verdict="not legal", tag="two-dolphins")
    assert comment.fault == said.dolphins


def test_one_comment_for_two_swimmers_stands_in_both_reviews(cast: Cast, said: words.Words):
    clip = staging.cut(filmed.ready(cast), cast.swimmer, cast.mate)
    comment = write(clip, cast, swimmers=[cast.swimmer, cast.mate], focus=True)

    changed = commenting.change(comment, version=1, by=cast.coach, at=LATER, swimmers=[cast.mate])

    assert [review.swimmer for review in changed.reviews.all()] == [cast.mate]
    assert Review.objects.get(swimmer=cast.swimmer).focus is None
    assert Review.objects.get(swimmer=cast.mate).focus == comment


def test_a_change_leaves_what_it_does_not_name(clip: Clip, cast: Cast):
    comment = write(clip, cast, focus=True)
    changed = commenting.change(comment, version=1, by=cast.assistant, at=LATER, words="Half way.")

    assert (changed.words, changed.version, changed.changed_at) == ("Half way.", 2, LATER)
    assert (changed.cue, changed.dose, changed.author) == (comment.cue, comment.dose, cast.coach)
    assert changed.reviews.get().focus == comment


def test_turning_to_praise_takes_the_fault_and_the_focus_away(
    clip: Clip, cast: Cast, said: words.Words
):
    comment = write(clip, cast, focus=True)
    changed = commenting.change(comment, version=1, by=cast.coach, at=LATER, verdict="good")

    assert (changed.tag, changed.fault, changed.reviews.get().focus) == (None, None, None)


def test_a_review_has_one_focus(clip: Clip, cast: Cast):
    write(clip, cast, focus=True)
    second = write(clip, cast, frame=30, focus=True)
    assert Review.objects.get().focus == second

    commenting.change(second, version=1, by=cast.coach, at=LATER, focus=False)
    assert Review.objects.get().focus is None


def test_a_stale_change_loses_nothing(clip: Clip, cast: Cast):
    comment = write(clip, cast)
    commenting.change(comment, version=1, by=cast.assistant, at=LATER, words="Dov's words.")

    with pytest.raises(commenting.Stale) as stale:
        commenting.change(comment, version=1, by=cast.coach, at=LATER, words="My words.")

    assert (stale.value.comment.words, stale.value.comment.version) == ("Dov's words.", 2)
    comment.refresh_from_db()
    assert comment.words == "Dov's words."


def test_a_refused_change_takes_no_version(clip: Clip, cast: Cast):
    comment = write(clip, cast)
    with pytest.raises(commenting.UnknownTag):
        commenting.change(comment, version=1, by=cast.coach, at=LATER, tag="nothing")
    comment.refresh_from_db()
    assert comment.version == 1


def test_a_drop_can_be_taken_back(clip: Clip, cast: Cast):
    comment = write(clip, cast, focus=True)

    dropped = commenting.drop(comment, by=cast.coach, at=LATER)
    assert (dropped.dropped_at, dropped.version) == (LATER, 2)
    assert dropped.reviews.get().focus is None
    assert commenting.drop(comment, by=cast.coach, at=LATER).version == 2

    restored = commenting.restore(comment, by=cast.coach, at=LATER, focus=True)
    assert (restored.dropped_at, restored.version, restored.words) == (None, 3, comment.words)
    assert restored.reviews.get().focus == comment
    actions = list(Entry.objects.order_by("id").values_list("action", flat=True))
    assert actions == ["made", "removed", "changed"]


def test_restoring_does_not_push_another_focus_away(clip: Clip, cast: Cast):
    comment = write(clip, cast, focus=True)
    commenting.drop(comment, by=cast.coach, at=LATER)
    other = write(clip, cast, frame=30, focus=True)
    commenting.restore(comment, by=cast.coach, at=LATER, focus=True)
    assert Review.objects.get().focus == other


def test_a_dropped_comment_cannot_be_changed(clip: Clip, cast: Cast):
    comment = write(clip, cast)
    commenting.drop(comment, by=cast.coach, at=LATER)
    with pytest.raises(commenting.Stale) as stale:
        commenting.change(comment, version=2, by=cast.coach, at=LATER, words="Again.")
    assert stale.value.comment.dropped_at == LATER


def test_what_is_out_stays_as_it_is(clip: Clip, cast: Cast):
    comment = write(clip, cast)
    Review.objects.update(state=Review.State.PUBLISHED)
    by: dict[str, Any] = {"by": cast.coach, "at": LATER}

    with pytest.raises(commenting.AlreadyOut, match="back first"):
        write(clip, cast, frame=30)
    with pytest.raises(commenting.AlreadyOut):
        commenting.change(comment, version=1, words="Other.", **by)
    with pytest.raises(commenting.AlreadyOut):
        commenting.drop(comment, **by)
    Comment.objects.update(dropped_at=NOW)
    with pytest.raises(commenting.AlreadyOut):
        commenting.restore(comment, **by)
    comment.refresh_from_db()
    assert (comment.version, Comment.objects.count()) == (1, 1)


def test_a_checked_review_is_a_draft_again(clip: Clip, cast: Cast):
    comment = write(clip, cast)
    Review.objects.update(state=Review.State.CHECKED)
    commenting.change(comment, version=1, by=cast.coach, at=LATER, words="Other.")
    assert Review.objects.get().state == Review.State.DRAFT


@pytest.mark.django_db(transaction=True)
def test_of_two_writers_at_once_one_is_stale(clip: Clip, cast: Cast):
    comment, outcomes, ready = write(clip, cast), [], Barrier(2)

    def change(name: str) -> None:
        ready.wait()
        try:
            commenting.change(comment, version=1, by=cast.coach, at=LATER, words=name)
            outcomes.append(name)
        except commenting.Stale:
            outcomes.append("stale")
        finally:
            connection.close()

    writers = [Thread(target=change, args=[name]) for name in ("one", "other")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()

    comment.refresh_from_db()
    assert outcomes.count("stale") == 1
    assert (comment.words in outcomes, comment.version) == (True, 2)


STEP = st.tuples(
    st.sampled_from(["write", "change", "stale", "drop", "restore"]), st.integers(0, 2)
)


@settings(
    max_examples=soak.count(40, 500),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(steps=st.lists(STEP, max_size=12))
def test_in_any_order_versions_rise_and_nothing_kept_is_lost(clip: Clip, cast: Cast, steps):
    """A model beside it: for each comment its words, version and whether it is dropped."""
    Comment.objects.all().delete()
    numbers = count(1)
    model: list[list[Any]] = []
    by: dict[str, Any] = {"by": cast.coach, "at": LATER}
    for step, place in steps:
        text = f"words {next(numbers)}"
        if step == "write":
            model.append([write(clip, cast, words=text), text, 1, False])
            continue
        if place >= len(model):
            continue
        entry = model[place]
        comment, _, version, is_dropped = entry
        if step == "change" and not is_dropped:
            commenting.change(comment, version=version, words=text, **by)
            entry[1:3] = [text, version + 1]
        elif step in ("change", "stale"):
            old = version if step == "change" else version - 1
            with pytest.raises(commenting.Stale):
                commenting.change(comment, version=old, words=text, **by)
        elif (step == "drop") != is_dropped:
            verb = commenting.drop if step == "drop" else commenting.restore
            verb(comment, **by)
            entry[2:] = [version + 1, not is_dropped]
    stored = {row.pk: row for row in Comment.objects.all()}
    assert len(stored) == len(model)
    for comment, text, version, is_dropped in model:
        row = stored[comment.pk]
        assert (row.words, row.version, row.dropped_at is not None) == (text, version, is_dropped)


def test_swimmers_of_the_clip_are_meant_when_none_is_named(clip: Clip, cast: Cast):
    comment = commenting.write(clip, by=cast.coach, at=NOW, frame=20, verdict="work on")
    assert [r.swimmer for r in comment.reviews.all()] == list(Swimmer.objects.filter(clips=clip))
