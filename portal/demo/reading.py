"""The script's sessions from their file, checked and typed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import MISSING, fields
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, get_type_hints

from django.db.models import TextChoices

from portal.demo.script import STAFF, SWIMMERS, Piece, Practice, Remark, Take

FILE = Path(__file__).parent / "sessions.toml"
ADULTS = {adult.name: adult for adult in STAFF}
CHILDREN = {child.name for child in SWIMMERS}
Part = TypeVar("Part", Practice, Take, Piece, Remark)


class BadScript(Exception):
    """The file of sessions cannot be used. The message names the part and the value."""


@cache
def sessions() -> tuple[Practice, ...]:
    """Of the demo, the oldest first."""
    return read(FILE)


def read(path: Path) -> tuple[Practice, ...]:
    """Raises BadScript."""
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise BadScript(f"{path.name} is not TOML ({error}).") from error
    return tuple(_practice(raw) for raw in content.get("practice", ()))


def _practice(raw: dict[str, Any]) -> Practice:
    where = f"Practice {raw.get('theme')!r}"
    published = frozenset(
        _known(name, CHILDREN, "swimmer", where) for name in raw.get("published", ())
    )
    takes = tuple(_take(each) for each in raw.get("take", ()))
    return _made(Practice, raw, where, takes=takes, published=published)


def _take(raw: dict[str, Any]) -> Take:
    where = f"Take {raw.get('name')!r}"
    pieces = tuple(_piece(each) for each in raw.get("piece", ()))
    swimmers = tuple(_known(name, CHILDREN, "swimmer", where) for name in raw.get("swimmers", ()))
    parts = {"pieces": pieces, "unsorted": tuple(raw.get("unsorted", ())), "swimmers": swimmers}
    return _made(Take, raw, where, **parts)


def _piece(raw: dict[str, Any]) -> Piece:
    where = f"Piece {raw.get('footage')!r} of {raw.get('swimmer')!r}"
    remarks = tuple(_remark(each, where) for each in raw.get("remark", ()))
    parts: dict[str, Any] = {"remarks": remarks}
    if "by" in raw:
        parts["by"] = ADULTS[_known(raw["by"], ADULTS, "adult", where)]
    _known(raw.get("swimmer"), CHILDREN, "swimmer", where)
    return _made(Piece, raw, where, **parts)


def _remark(raw: dict[str, Any], piece: str) -> Remark:
    return _made(Remark, raw, f"{piece}, at {raw.get('event')!r}")


def _made(shape: type[Part], raw: dict[str, Any], where: str, **parts: object) -> Part:
    """`parts`: what was made already, under the names of the fields; lists in the file carry the
    name of one of them, as `take` for `takes`."""
    known = {field.name: field for field in fields(shape)}
    hints = get_type_hints(shape)
    made = parts | {
        key: _value(value, hints[_known(key, known, "key", where)], f"{where}: {key}")
        for key, value in raw.items()
        if key not in parts and f"{key}s" not in parts
    }
    for name, field in known.items():
        if name not in made and field.default is field.default_factory is MISSING:
            raise BadScript(f"{where}: {name!r} is missing. Add a line `{name} = …`.")
    return shape(**made)  # type: ignore[arg-type]


def _value(raw: object, kind: type, where: str) -> object:
    if issubclass(kind, TextChoices | StrEnum):
        return kind(_known(raw, [str(each.value) for each in kind], "value", where))
    if type(raw) is not kind:
        raise BadScript(f"{where} is {raw!r}. It has to be of the kind {kind.__name__}.")
    return raw


def _known(word: object, known: Iterable[str], what: str, where: str) -> str:
    names = list(known)
    if isinstance(word, str) and word in names:
        return word
    close = get_close_matches(str(word), names, n=1)
    hint = f"Did you mean {close[0]!r}?" if close else f"Known: {', '.join(names)}."
    raise BadScript(f"{where}: unknown {what} {word!r}. {hint}")
