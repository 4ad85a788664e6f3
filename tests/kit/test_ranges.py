from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.kit.ranges import Span, Unsatisfiable, span

SIZE = 52_428_800
WHOLE = Span(0, SIZE - 1, SIZE)


def test_it_works():
    asked = span("bytes=100-199", SIZE)

    assert asked == Span(100, 199, SIZE)
    assert asked.length == 100
    assert asked.content_range == "bytes 100-199/52428800"


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("bytes=0-0", Span(0, 0, SIZE)),
        # The first thing an iPhone asks.
        ("bytes=0-1", Span(0, 1, SIZE)),
        ("bytes=-500", Span(52_428_300, 52_428_799, SIZE)),
        ("bytes=-99999999", WHOLE),
        ("bytes=0-", WHOLE),
        ("bytes=0-99999999", WHOLE),
        ("bytes=0-" + "9" * 5000, WHOLE),
        ("Bytes = 0-0", Span(0, 0, SIZE)),
        ("bytes=,0-0,", Span(0, 0, SIZE)),
    ],
)
def test_one_range_is_followed(header: str, expected: Span):
    assert span(header, SIZE) == expected


@pytest.mark.parametrize("header", [f"bytes={SIZE}-", "bytes=-0", "bytes=" + "9" * 5000 + "-"])
def test_a_range_outside_the_file_is_refused(header: str):
    with pytest.raises(Unsatisfiable):
        span(header, SIZE)


@pytest.mark.parametrize("header", ["bytes=0-0", "bytes=0-", "bytes=-5"])
def test_an_empty_file_has_no_range(header: str):
    with pytest.raises(Unsatisfiable):
        span(header, 0)


@pytest.mark.parametrize(
    "header",
    [
        None,
        "",
        "bytes",
        "bytes=",
        "bytes=-",
        "bytes=5-2",
        "bytes=a-b",
        "bytes=--5",
        "bytes=+1-2",
        "bytes=1 - 2",
        "bytes=0-0-0",
        "bytes=٣-٤",
        "items=0-5",
        "bytes=0-0,5-9",
        f"bytes=0-0,{SIZE}-",
    ],
)
def test_what_is_no_single_range_gets_the_whole_file(header: str | None):
    assert span(header, SIZE) is None


def plainly(first: int | None, last: int | None, size: int) -> list[int] | None:
    """The numbers of the bytes asked for, picked one by one; None: no valid range."""
    everything = list(range(size))
    if first is None:
        return None if last is None else everything[max(0, size - last) :]
    if last is None:
        return [byte for byte in everything if byte >= first]
    return None if last < first else [byte for byte in everything if first <= byte <= last]


NUMBERS = st.none() | st.integers(0, 40)


@given(first=NUMBERS, last=NUMBERS, size=st.integers(0, 30))
def test_the_bytes_are_those_of_a_plain_reading(first: int | None, last: int | None, size: int):
    digits = ["" if number is None else str(number) for number in (first, last)]
    header = f"bytes={digits[0]}-{digits[1]}"
    expected = plainly(first, last, size)

    if expected == []:
        with pytest.raises(Unsatisfiable):
            span(header, size)
        return
    found = span(header, size)

    assert (found and list(range(found.first, found.last + 1))) == expected


@given(header=st.text(alphabet="bytes=-, 0123456789x", max_size=20), size=st.integers(0, 30))
def test_no_header_asks_for_bytes_that_are_not_there(header: str, size: int):
    try:
        found = span(header, size)
    except Unsatisfiable:
        return

    assert found is None or 0 <= found.first <= found.last < size
