from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from portal.kit.signs import Sign
from portal.progress.charting import Column, Need, Row, Seen, columns, rows
from tests.soak import count

START = date(2026, 9, 1)


def weekly(sessions: int) -> list[Column]:
    return columns((n, START + timedelta(days=7 * n)) for n in range(sessions))


def look(session: int, sign: Sign, *, fault: str = "low", checkpoint: str = "heels") -> Seen:
    return Seen(session, "breast", checkpoint, "" if sign == Sign.GOOD else fault, sign)


def test_it_works():
    seen = [look(0, Sign.WORK_ON), look(1, Sign.GOOD), look(3, Sign.WORK_ON)]

    [row] = rows(seen, weekly(4))

    assert row.signs == (Sign.WORK_ON, Sign.GOOD, Sign.NOT_LOOKED_AT, Sign.WORK_ON)
    assert (row.faulty, row.looks) == (2, 3)
    assert row.is_open


def test_good_and_fault_in_one_session_are_both_seen():
    [row] = rows([look(0, Sign.WORK_ON), look(0, Sign.GOOD)], weekly(1))

    assert row.signs == (Sign.BOTH,)
    assert (row.faulty, row.looks) == (1, 1)


def test_not_legal_is_never_softened():
    seen = [look(0, Sign.NOT_LEGAL), look(0, Sign.GOOD), look(0, Sign.WORK_ON)]

    [row] = rows(seen, weekly(1))

    assert row.signs == (Sign.NOT_LEGAL,)


def test_praise_is_clean_for_every_fault_of_its_checkpoint_and_no_other():
    seen = [
        look(0, Sign.WORK_ON, fault="low"),
        look(0, Sign.WORK_ON, fault="wide"),
        look(0, Sign.WORK_ON, fault="late", checkpoint="breath"),
        look(1, Sign.GOOD),
    ]

    by_fault = {row.fault: row.signs[1] for row in rows(seen, weekly(2))}

    assert by_fault == {"low": Sign.GOOD, "wide": Sign.GOOD, "late": Sign.NOT_LOOKED_AT}


def test_one_fault_says_nothing_of_another():
    seen = [look(0, Sign.WORK_ON, fault="low"), look(1, Sign.WORK_ON, fault="wide")]

    by_fault = {row.fault: row.signs for row in rows(seen, weekly(2))}

    assert by_fault["low"] == (Sign.WORK_ON, Sign.NOT_LOOKED_AT)


def test_only_praised_has_a_row_of_its_own():
    [row] = rows([look(0, Sign.GOOD)], weekly(1))

    assert row.fault == ""
    assert not row.is_open


def test_three_clean_looks_close_and_a_pause_does_not():
    clean = [look(n, Sign.GOOD) for n in (1, 2, 5)]

    assert rows([look(0, Sign.WORK_ON), *clean[:2]], weekly(6))[0].is_open
    assert not rows([look(0, Sign.WORK_ON), *clean], weekly(6))[0].is_open


def test_what_an_item_asks_for():
    signs = {
        Need.NOT_LEGAL: (Sign.NOT_LEGAL, Sign.GOOD),
        Need.OPEN: (Sign.BOTH, Sign.NOT_LOOKED_AT, Sign.GOOD, Sign.GOOD),
        Need.CLEAN: (Sign.NOT_LEGAL, Sign.GOOD, Sign.GOOD, Sign.GOOD),
        Need.GOOD: (Sign.NOT_LOOKED_AT, Sign.GOOD),
    }

    assert [Row("breast", "heels", "low", seen).need for seen in signs.values()] == list(signs)


def test_sessions_since_the_newest_look_are_counted():
    assert rows([look(1, Sign.GOOD)], weekly(4))[0].unseen_since == 2
    assert rows([look(3, Sign.WORK_ON)], weekly(4))[0].unseen_since == 0


def test_a_gap_is_more_than_28_days():
    days = [START, START + timedelta(days=28), START + timedelta(days=57)]

    assert [c.after_gap for c in columns(enumerate(days))] == [False, False, True]


def test_not_legal_and_open_come_first():
    seen = [
        look(0, Sign.WORK_ON, fault="often"),
        look(1, Sign.WORK_ON, fault="often"),
        look(0, Sign.NOT_LEGAL, fault="rule", checkpoint="touch"),
        look(0, Sign.GOOD, checkpoint="line"),
    ]

    assert [row.fault for row in rows(seen, weekly(2))] == ["rule", "often", ""]


LOOKS = st.lists(
    st.builds(
        look,
        st.integers(0, 5),
        st.sampled_from([Sign.GOOD, Sign.WORK_ON, Sign.NOT_LEGAL]),
        fault=st.sampled_from(["low", "wide"]),
        checkpoint=st.sampled_from(["heels", "line"]),
    ),
    max_size=25,
)


@settings(max_examples=count(100, 5000))
@given(LOOKS)
def test_against_a_plain_count(seen: list[Seen]):
    for row in rows(seen, weekly(6)):
        mine = [s for s in seen if s.checkpoint == row.checkpoint and s.fault in ("", row.fault)]
        assert row.looks == len({s.session for s in mine})
        assert row.faulty == len({s.session for s in mine if s.fault})


@given(LOOKS, st.randoms())
def test_the_order_of_writing_does_not_matter(seen: list[Seen], random):
    shuffled = random.sample(seen, len(seen))

    def plain(found: list[Row]) -> list[Row]:
        return sorted(found, key=repr)

    assert plain(rows(seen, weekly(6))) == plain(rows(shuffled, weekly(6)))
