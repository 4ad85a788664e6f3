from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.meets.parsing import DISTANCES, MOST_LINES, STROKES, Event, Fault, event, lines


def test_it_works():
    [line] = lines("Ines Falk; 100 breast; 200 IM")
    assert (line.name, line.fault) == ("Ines Falk", None)
    assert line.events == (Event(100, "breast"), Event(200, "im"))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("100 Breaststroke", Event(100, "breast")),
        ("100m breast", Event(100, "breast")),
        ("50 m Fly", Event(50, "fly")),
        ("1650 yd free", Event(1650, "free")),
        ("200 Individual Medley", Event(200, "im")),
        ("4 x 50 medley relay", Event(50, "im", is_relay=True)),
        ("4x100 free", Event(100, "free", is_relay=True)),
        ("100 free relay", Event(100, "free", is_relay=True)),
        ("75 breast", None),
        ("100 crawlies", None),
        ("3 x 50 free", None),
        ("breast", None),
        ("100", None),
        ("", None),
    ],
)
def test_events(text: str, expected: Event | None):
    assert event(text) == expected


@pytest.mark.parametrize("divider", ["\t", ";", " ; ", ", "])
def test_dividers(divider: str):
    [line] = lines(divider.join(["Ines Falk", "100 breast", "50 fly"]))
    assert [each.stroke for each in line.events] == ["breast", "fly"]


def test_a_comma_inside_a_name():
    [line] = lines("Falk, Ines\t100 breast")
    assert line.name == "Falk, Ines"


@pytest.mark.parametrize(
    ("text", "fault", "about"),
    [
        ("Ines Falk", Fault.NO_EVENT, ""),
        ("Ines Falk;;", Fault.NO_EVENT, ""),
        ("Ines Falk; 100 breast; 90 fly", Fault.NO_SUCH_EVENT, "90 fly"),
    ],
)
def test_what_cannot_be_read(text: str, fault: Fault, about: str):
    [line] = lines(text)
    assert (line.fault, line.about, line.events) == (fault, about, ())


def test_empty_lines_are_nothing_and_there_is_an_end():
    assert list(lines("\n  \n")) == []
    assert len(list(lines("Ines Falk; 50 fly\n" * (MOST_LINES + 9)))) == MOST_LINES


@given(st.text(max_size=200))
def test_whatever_is_typed_is_kept(text: str):
    for line in lines(text):
        assert line.text in text
        assert bool(line.events) != bool(line.fault)
        assert all(each.distance in DISTANCES and each.stroke in STROKES for each in line.events)
