"""A club that a machine plays with: its rows, and the same in the oracle's words."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TypeVar

from django.db import transaction
from django.db.models import QuerySet

from portal.people.models import Consent, Guardianship, Season, Squad, Swimmer, User
from portal.recordings.models import Clip, Recording
from tests.cast import DAY, NOW, Cast, assemble
from tests.sight.oracle import Plain

Thing = TypeVar("Thing")
BORN = {"swimmer": date(2012, 5, 3), "mate": date(2012, 2, 29)}


class FilmedClub:
    cast: Cast
    plain: Plain
    rows: dict[str, Recording | Clip]

    def open(self) -> None:
        self.undo = transaction.atomic()
        self.undo.__enter__()
        self.cast: Cast = assemble()
        Season.objects.update(ends=date(2040, 7, 31))
        Swimmer.objects.filter(pk=self.cast.mate.pk).update(born=BORN["mate"])
        self.plain = Plain(today=DAY, now=NOW)
        self.rows: dict[str, Recording | Clip] = {}
        self._write_down()

    def close(self) -> None:
        transaction.set_rollback(True)
        self.undo.__exit__(None, None, None)

    def _write_down(self) -> None:
        """What `assemble` has made, for the oracle."""
        plain = self.plain
        plain.home = {"squad": "Otterbrook", "other_squad": "Otterbrook"}
        plain.born = dict(BORN)
        plain.account = {"swimmer": "swimmer_user", "mate": "mate_user"}
        plain.squad = {"swimmer": "squad", "mate": "squad"}
        plain.roles = {
            ("head_coach", "head coach", "Otterbrook"),
            ("coach", "coach", "squad"),
            ("assistant", "assistant", "squad"),
            ("other_coach", "coach", "other_squad"),
            ("second_adult", "second adult", "squad"),
            ("second_adult", "second adult", "other_squad"),
            ("welfare", "welfare officer", "Otterbrook"),
            ("volunteer", "volunteer", "Otterbrook"),
            ("rival_coach", "head coach", "Northmere"),
        }
        plain.guards = {
            ("guardian", "swimmer"),
            ("co_guardian", "swimmer"),
            ("mate_guardian", "mate"),
        }
        for purpose in Consent.Purpose:
            plain.said["guardian", "swimmer", purpose.value] = True
            plain.said["mate_guardian", "mate", purpose.value] = True

    def any(self, things: Iterable[Thing], pick: int) -> Thing:
        ordered = sorted(things, key=str)
        return ordered[pick % len(ordered)]

    def clips(self) -> list[str]:
        return [name for name, row in self.rows.items() if isinstance(row, Clip)]

    def recording(self, name: str) -> Recording:
        row = self.rows[name]
        assert isinstance(row, Recording)
        return row

    def clip(self, name: str) -> Clip:
        return Clip.objects.get(pk=self.rows[name].pk)

    def user(self, person: str) -> User:
        user: User = getattr(self.cast, person)
        return user

    def swimmer(self, name: str) -> Swimmer:
        """Afresh, with their age."""
        return Swimmer.objects.select_related("club", "user").get(pk=getattr(self.cast, name).pk)

    def squad(self, name: str) -> Squad:
        squad: Squad = getattr(self.cast, name)
        return squad

    def tie(self, person: str, swimmer: str) -> QuerySet[Guardianship]:
        return Guardianship.objects.filter(
            guardian=self.user(person), swimmer=self.swimmer(swimmer), ends=None
        )
