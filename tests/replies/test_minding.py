"""Which words are taken for words of pain. The list is ours; no study stands behind it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.replies.minding import mentions_pain


@pytest.mark.parametrize(
    "words",
    [
        "My shoulder hurts when I do this",
        "It HURT",
        "knee pain after the kick",
        "is a sore shoulder normal?",
        "headache after sprints",
        "my back aches",
        "I pulled something",
        "a painful turn",
        "my toes go numb",
    ],
)
def test_it_works(words: str):
    assert mentions_pain(words)


@pytest.mark.parametrize(
    "words",
    [
        "",
        "how do I turn my feet out?",
        "the painted line on the floor",
        "I explained it to Noor",
        "more of this, I adore it",
        "is the teacher there on Monday?",
        "the score on the board",
    ],
)
def test_other_words_are_none(words: str):
    assert not mentions_pain(words)


@given(before=st.text(), after=st.text())
def test_whatever_stands_around_it(before: str, after: str):
    assert mentions_pain(f"{before} it hurts {after}")
    assert mentions_pain(f"{before} It HURTS, {after}")
