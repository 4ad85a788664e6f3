from __future__ import annotations

from typing import Any

import pytest

from portal.mailroom.models import OutgoingMail
from portal.people.models import Guardianship, Swimmer
from portal.roster import comparing, exporting, gathering, parsing
from tests.cast import DAY, NOW, Cast

HEADER = "first name,last name,born,squad,guardian 1 name,guardian 1 address"
IDA = "Ida,Brook,2013-04-01,,Ole Brook,ole@example.org"
INES = "Ines,Falk,2012-05-03,Juniors,Ada Falk,ada.falk@example.org"
NOOR = "Noor,Haan,2012-08-09,juniors,Samir Haan,samir.haan@example.org"


def compared(cast: Cast, *rows: str) -> comparing.Comparison:
    return comparing.compare(listed(*rows), squad=cast.squad, on=DAY)


def listed(*rows: str) -> parsing.Listed:
    return parsing.parse("\n".join([HEADER, *rows]), today=DAY)


def taken(cast: Cast, *rows: str) -> comparing.Comparison:
    mark = compared(cast, *rows).mark
    who: dict[str, Any] = {"by": cast.head_coach, "at": NOW}
    return comparing.take_over(listed(*rows), squad=cast.squad, mark=mark, on=DAY, **who)


def test_it_works(cast: Cast):
    found = taken(cast, IDA, INES)

    assert [new.first_name for new in found.added] == ["Ida"]
    assert [change.swimmer for change in found.staying] == [cast.swimmer]
    assert found.missing == [cast.mate]
    ida = Swimmer.objects.get(first_name="Ida")
    assert ida.places.get().squad == cast.squad
    assert ida.guardianships.get().guardian.email == "ole@example.org"
    assert OutgoingMail.objects.get().address == "ole@example.org"


def test_the_same_list_again_changes_nothing(cast: Cast):
    taken(cast, IDA, INES)

    again = compared(cast, IDA, INES)

    assert not again.has_news
    assert len(again.staying) == 2


def test_what_was_exported_changes_nothing(cast: Cast):
    Swimmer.objects.filter(pk=cast.mate.pk).update(first_name="=Noor", last_name="-Haan")
    people = gathering.people(cast.squad, at=NOW)
    text = exporting.as_csv(people, cast.squad, with_addresses=True)

    found = comparing.compare(parsing.parse(text, today=DAY), squad=cast.squad, on=DAY)

    assert (len(found.staying), found.has_news, found.faulty, found.missing) == (2, False, [], [])


def test_only_what_differs_is_changed(cast: Cast):
    found = taken(cast, INES.replace("Juniors", "Seniors").replace("Ines,Falk", "INES,Falk"), NOOR)

    [change] = found.differing
    assert (change.name, change.squad, change.guardians) == (("INES", "Falk"), cast.other_squad, ())
    assert [change.swimmer for change in found.staying] == [cast.mate]
    assert Guardianship.objects.count() == 4
    assert not OutgoingMail.objects.exists()


def test_nobody_is_taken_out(cast: Cast):
    taken(cast, IDA)

    assert cast.squad.places.filter(ends=None).count() == 3
    assert cast.swimmer.guardianships.filter(ends=None).count() == 2


def test_a_child_of_the_same_name_is_not_taken_for_another(cast: Cast):
    found = compared(cast, NOOR.replace("2012", "2015"))

    [(_line, [problem])] = found.faulty
    assert "born 2012-08-09" in problem
    assert not found.added


def test_an_ended_tie_is_not_begun_again(cast: Cast):
    row = INES.replace("Ada Falk", "Curt Blum").replace("ada.falk", "curt.blum")

    found = compared(cast, row)

    [change] = found.staying
    assert [guardian.name for guardian in change.ended] == ["Curt Blum"]


def test_nothing_is_taken_of_a_list_with_a_fault(cast: Cast):
    for rows in ([IDA, ",Odd,2013-01-01"], [IDA, "Odd,Odd,2013-01-01,Herons"]):
        with pytest.raises(comparing.Outdated):
            taken(cast, *rows)
    assert not Swimmer.objects.filter(first_name="Ida").exists()
    assert "Juniors, Seniors" in compared(cast, "Odd,Odd,2013-01-01,Herons").faulty[0][1][0]


def test_nothing_is_taken_that_was_not_shown(cast: Cast):
    with pytest.raises(comparing.Outdated):
        comparing.take_over(
            listed(IDA),
            squad=cast.squad,
            mark=compared(cast, IDA.replace("ole@", "una@")).mark,
            on=DAY,
            by=cast.head_coach,
            at=NOW,
        )


def test_siblings_are_told_in_one_mail(cast: Cast):
    taken(cast, IDA, IDA.replace("Ida", "Max").replace("2013", "2015"))

    mail = OutgoingMail.objects.get()
    assert "Ida, Max" in " ".join(mail.text.split())


def test_it_asks_the_same_of_the_database_for_one_and_for_many(
    cast: Cast, django_assert_num_queries
):
    many = [IDA.replace("Ida", f"Ida{n}") for n in range(40)]
    for rows in ([IDA], many):
        with django_assert_num_queries(4):
            compared(cast, *rows)
