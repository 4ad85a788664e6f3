"""Whoever asks, the database itself refuses to change or remove what stands in the record."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from portal.audit.models import Entry
from portal.audit.noting import note
from tests.audit.seals import broken_seal
from tests.cast import NOW, Cast


@pytest.fixture
def entry(cast: Cast) -> Entry:
    note(Entry.Action.SAW, cast.session, at=NOW, by=cast.coach, club=cast.club)
    return Entry.objects.get()


def run(sql: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


def test_it_works(entry: Entry, cast: Cast):
    note(Entry.Action.SAW, cast.session, at=NOW, by=cast.assistant, club=cast.club)

    assert Entry.objects.count() == 2


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE audit_entry SET action = 'made'",
        "UPDATE audit_entry SET actor_code = NULL WHERE action = 'saw'",
        "DELETE FROM audit_entry",
        "DELETE FROM audit_entry WHERE action = 'saw'",
    ],
)
def test_a_row_is_neither_changed_nor_removed(entry: Entry, sql: str):
    with pytest.raises(DatabaseError, match="the record is only ever added to"):
        run(sql)

    assert list(Entry.objects.values()) == [
        {name: getattr(entry, name) for name in Entry.objects.values().get()}
    ]


def test_nor_by_way_of_the_models(entry: Entry):
    for change in (
        lambda: Entry.objects.update(actor_code=None),
        lambda: Entry.objects.all().delete(),
        entry.delete,
    ):
        with pytest.raises(DatabaseError, match="the record"), transaction.atomic():
            change()

    assert Entry.objects.filter(actor_code=entry.actor_code).count() == 1


def test_without_the_seal_it_could_be(entry: Entry):
    with broken_seal():
        run("DELETE FROM audit_entry")

    assert not Entry.objects.exists()
    note(Entry.Action.SAW, entry_thing(), at=NOW, by=None)
    with pytest.raises(DatabaseError, match="the record"):
        run("DELETE FROM audit_entry")


def entry_thing():
    class Thing:
        code = "00000000-0000-0000-0000-000000000001"

    return Thing()


@pytest.mark.django_db(transaction=True)
def test_a_test_database_can_be_emptied_and_is_sealed_again(entry: Entry, cast: Cast):
    call_command("flush", interactive=False, verbosity=0)
    assert not Entry.objects.exists()

    note(Entry.Action.SAW, cast.session, at=NOW, by=None)
    with pytest.raises(DatabaseError, match="the record"):
        run("DELETE FROM audit_entry")
