from __future__ import annotations

import contextlib
import csv
import io
from datetime import date

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from portal.roster import parsing
from portal.roster.exporting import guarded
from portal.roster.parsing import Column, Fault, Named, Trouble, Unreadable, parse, text_of, tidy

TODAY = date(2026, 11, 25)
HEADER = "First name,Last name,Born,Squad,Guardian 1 name,Guardian 1 address"
LIST = f"{HEADER}\nIda,Brook,2013-04-01,Juniors,Ole Brook,Ole.Brook@example.org\n"

names = st.text(st.characters(codec="utf-8"), max_size=40).map(tidy).filter(bool)


def faults(row: str) -> set[tuple[Column, Fault]]:
    [line] = parse(f"{HEADER},Guardian 2 name,Guardian 2 address\n{row}", today=TODAY).lines
    return set(line.faults)


def test_it_works():
    listed = parse(LIST, today=TODAY)

    [line] = listed.lines
    assert (line.number, line.name, line.born, line.squad) == (
        2,
        "Ida Brook",
        date(2013, 4, 1),
        "Juniors",
    )
    assert line.guardians == (Named("Ole Brook", "ole.brook@example.org"),)
    assert not listed.has_faults


@pytest.mark.parametrize("sign", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_cells_are_cut_by_whatever_cuts_the_first_line(sign: str, end: str):
    text = LIST.replace(",", sign).replace("\n", end)

    assert parse(text, today=TODAY) == parse(LIST, today=TODAY)


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_files_as_spreadsheets_save_them(coding: str):
    text = LIST.replace("Brook", "Bröök")

    assert parse(text_of(text.encode(coding)), today=TODAY).lines[0].last_name == "Bröök"


def test_the_columns_names_are_forgiven_much():
    header = "SURNAME; E-Mail;Date of birth;Phone;first_name;PARENT"
    text = f"{header}\nBrook;o@example.org;1.4.2013;1;Ida;Ole"

    listed = parse(text, today=TODAY)

    assert listed.lines[0].guardians == (Named("Ole", "o@example.org"),)
    assert listed.unread == ["Phone"]


@pytest.mark.parametrize(
    ("text", "trouble"),
    [
        ("", Trouble.EMPTY),
        (" \n\n", Trouble.EMPTY),
        ("Ida,Brook,2013-04-01", Trouble.NO_COLUMNS),
        ("first name,last name,born,surname\na,b,2013-04-01,c", Trouble.COLUMN_TWICE),
        ("PK\x03\x04\x00", Trouble.NO_TEXT),
        (HEADER + "\nIda,Brook,2013-04-01" * 501, Trouble.TOO_LONG),
    ],
)
def test_a_list_that_cannot_be_read(text: str, trouble: Trouble):
    with pytest.raises(Unreadable) as raised:
        parse(text, today=TODAY)
    assert raised.value.trouble == trouble


def test_five_hundred_are_taken():
    rows = "".join(f"\nIda{n},Brook,2013-04-01" for n in range(parsing.MOST_LINES))

    assert len(parse(HEADER + rows, today=TODAY).lines) == 500


@pytest.mark.parametrize(
    ("row", "column", "fault"),
    [
        (",Brook,2013-04-01", Column.FIRST, Fault.MISSING),
        ("Ida,,2013-04-01", Column.LAST, Fault.MISSING),
        ("Ida,Brook,", Column.BORN, Fault.MISSING),
        ("Ida,Brook,soon", Column.BORN, Fault.NO_DATE),
        ("Ida,Brook,3/4/2013", Column.BORN, Fault.TWO_DATES),
        ("Ida,Brook,2026-11-25", Column.BORN, Fault.NOT_YET),
        ("Ida,Brook,1913-04-01", Column.BORN, Fault.LONG_AGO),
        (f"{'I' * 61},Brook,2013-04-01", Column.FIRST, Fault.TOO_LONG),
        ("Ida,Brook,2013-04-01,,Ole,ole at home", Column.ADDRESS_1, Fault.NO_ADDRESS),
        ("Ida,Brook,2013-04-01,,Ole,", Column.ADDRESS_1, Fault.MISSING),
        ("Ida,Brook,2013-04-01,,,ole@example.org", Column.NAME_1, Fault.MISSING),
        ("Ida,Brook,2013-04-01,,Ole,o@b.org,Una,O@b.org", Column.ADDRESS_2, Fault.SAME_ADDRESS),
        ("Ida,Brook,2013-04-01,,,,,,more", Column.FIRST, Fault.MORE_CELLS),
    ],
)
def test_a_line_with_a_fault(row: str, column: Column, fault: Fault):
    assert (column, fault) in faults(row)


def test_a_swimmer_who_stands_there_twice():
    listed = parse(LIST + "IDA,brook,1.4.2013\n", today=TODAY)

    assert [line.faults for line in listed.lines] == [(), ((Column.FIRST, Fault.TWICE),)]


def test_lines_are_counted_as_the_list_has_them():
    listed = parse(f'{HEADER}\n\n"Ida\nMay",Brook,2013-04-01\nOdd,Brook,2013-04-01', today=TODAY)

    assert [(line.number, line.first_name) for line in listed.lines] == [(3, "Ida May"), (5, "Odd")]


@given(st.lists(st.tuples(names, names), min_size=1, max_size=6))
@example([("=cmd", "@SUM(1)"), ("-1", "+1")])
def test_what_was_written_for_a_spreadsheet_is_read_back(people: list[tuple[str, str]]):
    assume(all(len(part) <= 60 for pair in people for part in pair))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(["first name", "last name", "born"])
    for first, last in people:
        writer.writerow([guarded(first), guarded(last), "2013-04-01"])

    for row in csv.reader(io.StringIO(out.getvalue(), newline="")):
        assert not any(cell.startswith(parsing.FORMULA) for cell in row)
    read = [(line.first_name, line.last_name) for line in parse(out.getvalue(), today=TODAY).lines]
    assert [(f, s) for f, s in people] == read


@given(st.text(max_size=300) | st.text(max_size=200).map(lambda words: f"{HEADER}\n{words}"))
def test_nothing_breaks_it(text: str):
    try:
        listed = parse(text, today=TODAY)
    except Unreadable:
        return
    for line in listed.lines:
        if not line.faults:
            assert line.first_name
            assert line.last_name
            assert line.born
            assert all(parsing.is_address(guardian.address) for guardian in line.guardians)


@given(st.binary(max_size=200))
def test_no_bytes_break_it(content: bytes):
    with contextlib.suppress(Unreadable):
        parse(text_of(content), today=TODAY)
