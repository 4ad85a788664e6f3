"""What a sender says of its upload in headers (tus 1.0): lengths, checksums, words about the file.

Numbers and words are judged here and nowhere else; `Unclear` quotes what cannot be read.
"""

from __future__ import annotations

import hashlib
from base64 import b64decode
from binascii import Error
from collections.abc import Callable
from typing import Any

ALGORITHMS: dict[str, Callable[[], Any]] = {"sha1": hashlib.sha1, "sha256": hashlib.sha256}
DIGITS = 18


class Unclear(Exception):
    """A header that cannot be read; the message is for whoever writes the program."""


def count(said: str | None, *, name: str) -> int:
    """A number of bytes: digits and nothing else."""
    if said and len(said) <= DIGITS and said.isascii() and said.isdigit():
        return int(said)
    raise Unclear(f"{name} is {said!r}. Give a number of bytes in digits.")


def words(said: str) -> dict[str, str]:
    """`filename bGFuZSA0,mine` is {"filename": "lane 4", "mine": ""}."""
    found: dict[str, str] = {}
    for pair in said.split(",") if said else ():
        key, _blank, packed = pair.strip(" ").partition(" ")
        if not key or not key.isascii() or not key.isprintable():
            raise Unclear(f"Upload-Metadata has the key {key!r}. Use printable ASCII, no blanks.")
        if key in found:
            raise Unclear(f"Upload-Metadata has the key {key!r} twice.")
        try:
            found[key] = b64decode(packed, validate=True).decode()
        except (Error, ValueError) as error:
            raise Unclear(f"Upload-Metadata has {packed!r} at {key!r}: no Base64.") from error
    return found


def checksum(said: str) -> tuple[Callable[[], Any], bytes]:
    """What makes the sum, and the sum it must come to."""
    name, _blank, packed = said.partition(" ")
    if name not in ALGORITHMS:
        known = ", ".join(ALGORITHMS)
        raise Unclear(f"Upload-Checksum names {name!r}. Use one of {known}.")
    try:
        wanted = b64decode(packed, validate=True)
    except (Error, ValueError) as error:
        raise Unclear(f"Upload-Checksum has {packed!r}: no Base64.") from error
    if len(wanted) != ALGORITHMS[name]().digest_size:
        raise Unclear(f"Upload-Checksum has {packed!r}: not as long as {name} is.")
    return ALGORITHMS[name], wanted
