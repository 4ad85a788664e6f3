from __future__ import annotations

from datetime import date, timedelta
from itertools import product

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]

from portal.items.recurrence import (
    DECAY,
    MOST_CLEAN,
    Look,
    Said,
    State,
    clean_needed,
    effective_looks,
    is_not_seen_lately,
    luck,
    stand,
    standings,
)
from portal.items.recurrence import looks as looks_of
from tests.items.sequences import START, look, looks

SIGNS = st.text("01.", max_size=30)


@pytest.mark.parametrize(
    ("signs", "state"),
    [
        ("", State.GOOD),
        ("0000", State.GOOD),
        ("1", State.NEW),
        ("0001", State.NEW),
        ("100", State.NEW),
        ("1000", State.FIXED),
        ("0001000", State.NEW),
        ("000100000", State.FIXED),
        ("10001", State.RETURNED),
        ("11", State.RECURRING),
        ("1001", State.RECURRING),
        ("110", State.RECURRING),
        ("1100", State.IMPROVING),
        ("11001", State.RECURRING),
        ("11000", State.FIXED),
        ("1.1..0.00", State.FIXED),
        ("110001", State.RETURNED),
        ("1100011", State.RECURRING),
        ("11000101", State.RECURRING),
        ("110001000", State.IMPROVING),
        ("11000100000", State.FIXED),
        ("101000", State.IMPROVING),
        ("1010000", State.FIXED),
    ],
)
def test_the_state_after_a_sequence(signs: str, state: State):
    assert stand(looks(signs)).state == state


@pytest.mark.parametrize(
    ("signs", "needed"), [("1", 3), ("11", 3), ("101", 4), ("0001", 5), ("110001", 5)]
)
def test_clean_looks_needed(signs: str, needed: int):
    assert stand(looks(signs)).needed == needed


@pytest.mark.parametrize("days", [2, 6])
def test_three_clean_within_days_are_not_enough(days: int):
    assert stand(looks("11000", days=days)).state == State.IMPROVING


@pytest.mark.parametrize(("days", "state"), [(13, State.IMPROVING), (14, State.FIXED)])
def test_a_longer_clean_run_reaches_the_fourteen_days(days: int, state: State):
    found = looks("11000", days=2)
    later = Look(session=9, day=found[2].day + timedelta(days=days), faulty=0, good=1)

    assert stand([*found, later]).state == state


# k, n, and clean looks in a row.
@pytest.mark.parametrize(
    ("faulty", "of", "clean", "value"),
    [(3, 5, 3, 0.117187), (6, 8, 3, 0.0397727), (1, 3, 5, 0.209473), (2, 2, 3, 0.03125)],
)
def test_luck(faulty: int, of: int, clean: int, value: float):
    # scipy 1.17: beta-binomial with Jeffreys' prior, no fault in `clean` draws.
    oracle = stats.betabinom.pmf(0, clean, faulty + 0.5, of - faulty + 0.5)

    assert luck(faulty, of, clean) == pytest.approx(oracle, rel=1e-12)
    assert luck(faulty, of, clean) == pytest.approx(value, rel=1e-5)


def test_the_recent_rate_and_how_many_looks_it_counts_as():
    signs = [1, 1, 0, 1, 0, 0]
    oracle = pd.Series(signs).ewm(halflife=3, adjust=True).mean().iloc[-1]
    weights = 0.5 ** (np.arange(len(signs)) / 3)

    assert stand(looks("110100")).rate == pytest.approx(oracle, rel=1e-12)
    assert oracle == pytest.approx(0.369081, rel=1e-5)
    assert effective_looks(6) == pytest.approx(weights.sum() ** 2 / (weights**2).sum(), rel=1e-12)
    assert effective_looks(6) == pytest.approx(5.21679, rel=1e-5)
    assert pytest.approx(0.793701, rel=1e-6) == DECAY
    assert effective_looks(500) == pytest.approx((1 + DECAY) / (1 - DECAY))


def test_both_seen_counts_as_faulty_and_by_its_share_to_the_rate():
    standing = stand([look(0, 1, 3)])

    assert (standing.faulty, standing.rate, standing.state) == (1, 0.25, State.NEW)
    assert look(0, 1, 3).both_seen


def said(clip: int | None, coach: int, is_faulty: bool, *, session: int = 1) -> Said:
    return Said(session, START, clip, coach, is_faulty)


def test_ten_tags_in_a_session_are_one_look():
    [found] = looks_of([said(clip, 1, True) for clip in range(10)])

    assert (found.faulty, found.good) == (10, 0)
    assert stand([found]).looks == 1


def test_a_coach_who_says_both_of_a_clip_says_faulty():
    [found] = looks_of([said(1, 1, False), said(1, 1, True)])

    assert (found.faulty, found.good, found.disputed) == (1, 0, 0)


def test_two_coaches_who_contradict_each_other_leave_the_clip_out():
    [found] = looks_of([said(1, 1, False), said(1, 2, True), said(2, 2, False)])

    assert (found.faulty, found.good, found.disputed) == (0, 1, 1)


def test_a_session_of_disputed_clips_is_no_look():
    found = looks_of([said(1, 1, True), said(2, 1, False, session=2), said(2, 2, True, session=2)])
    standing = stand(found)

    assert (standing.looks, standing.disputed, standing.state) == (1, 1, State.NEW)
    assert standing.last_session == 1


def test_each_note_without_film_is_a_verdict_of_its_own():
    [found] = looks_of([said(None, 1, True), said(None, 2, False)])

    assert found.both_seen


def test_sessions_come_by_day_and_then_by_number():
    days = [(3, 2), (1, 5), (2, 2)]
    found = looks_of(Said(n, START + timedelta(days=day), 1, 1, True) for n, day in days)

    assert [look.session for look in found] == [2, 3, 1]


def test_once_not_legal_stays_said():
    found = looks_of([Said(1, START, 1, 1, True, True), said(1, 1, True, session=2)])

    assert stand(found).was_not_legal


@pytest.mark.parametrize(
    ("days", "sessions", "answer"),
    [(42, 0, False), (43, 0, True), (1, 3, False), (1, 4, True)],
)
def test_not_seen_lately(days: int, sessions: int, answer: bool):
    last = date(2026, 3, 1)

    found = is_not_seen_lately(last, sessions_since=sessions, on=last + timedelta(days=days))

    assert found == answer


# Runs anywhere in a sequence, by counting out all sequences: what a plain rule of so many in a row
# would call fixed though nothing changed.
@pytest.mark.parametrize(
    ("run", "of", "clean", "value"),
    [
        (3, 10, 0.5, 0.507812),  # 1 - 504/1024, Feller's success runs
        (3, 10, 0.3, 0.155116),
        (3, 12, 0.2, 0.0646796),
        (4, 10, 0.5, 0.245117),
        (3, 15, 0.5, 0.676239),
    ],
)
def test_how_often_a_plain_rule_is_fooled(run: int, of: int, clean: float, value: float):
    fooled = 0.0
    for signs in map("".join, product("01", repeat=of)):
        if max((each.clean_run for each in standings(looks(signs))), default=0) >= run:
            fooled += clean ** signs.count("0") * (1 - clean) ** signs.count("1")

    assert fooled == pytest.approx(value, rel=1e-5)


@settings(deadline=None)
@given(SIGNS)
def test_sessions_in_which_nobody_looked_change_nothing(signs: str):
    def key(text: str) -> tuple[object, ...]:
        found = stand(looks(text, days=100))
        return found.state, found.looks, found.faulty, found.needed, found.rate, found.clean_run

    assert key(signs) == key(signs.replace(".", ""))


@settings(deadline=None)
@given(SIGNS)
def test_counts_are_what_they_say(signs: str):
    standing = stand(looks(signs))
    seen = signs.replace(".", "")

    assert (standing.looks, standing.faulty) == (len(seen), seen.count("1"))
    assert standing.clean_run == len(seen) - len(seen.rstrip("0"))
    assert standing.faulty_run == len(seen) - len(seen.rstrip("1"))
    assert 0 <= standing.rate <= 1
    assert 3 <= standing.needed <= MOST_CLEAN


@settings(deadline=None)
@given(SIGNS)
def test_states_follow_each_other_as_allowed(signs: str):
    after = {
        State.GOOD: {State.GOOD, State.NEW},
        State.NEW: {State.NEW, State.RECURRING, State.FIXED},
        State.RECURRING: {State.RECURRING, State.IMPROVING},
        State.IMPROVING: {State.IMPROVING, State.RECURRING, State.FIXED},
        State.FIXED: {State.FIXED, State.RETURNED},
        State.RETURNED: {State.RETURNED, State.RECURRING, State.IMPROVING},
    }
    before = State.GOOD
    for standing in standings(looks(signs)):
        assert standing.state in after[before]
        before = standing.state


@settings(deadline=None)
@given(st.integers(0, 60), st.integers(0, 60))
def test_clean_looks_needed_are_the_fewest_that_are_hardly_luck(faulty: int, clean: int):
    needed = clean_needed(faulty, faulty + clean)

    assert all(luck(faulty, faulty + clean, r) > 0.1 for r in range(3, needed))
    assert needed == 5 or luck(faulty, faulty + clean, needed) <= 0.1
