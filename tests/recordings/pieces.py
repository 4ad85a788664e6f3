"""Films sent piece by piece through the test client, in the words of tus 1.0."""

from __future__ import annotations

from base64 import b64encode
from typing import Any

from django.test import Client
from django.urls import reverse

from tests.cast import Cast

PIECE = "application/offset+octet-stream"
FILM = b"\x00\x00\x00\x18ftypmp42" + bytes(range(256)) * 40
TUS = {"Tus-Resumable": "1.0.0"}


def packed(words: str | bytes) -> str:
    return b64encode(words if isinstance(words, bytes) else words.encode()).decode()


def announce(client: Client, cast: Cast, *, body: bytes = b"", kind: str = PIECE, **headers: Any):
    """Header names with low lines, as Python wants them; an empty one is left out."""
    named = {"Upload_Length": str(len(FILM)), "Tus_Resumable": "1.0.0", **headers}
    sent = {name.replace("_", "-"): value for name, value in named.items() if value}
    address = reverse("recordings:announce", args=[cast.session.code])
    return client.generic("POST", address, body, kind if body else "", headers=sent)


def begun(client: Client, cast: Cast, **headers: Any) -> str:
    answer = announce(client, cast, **headers)
    assert answer.status_code == 201, answer.content
    return str(answer.headers["Location"])


def patch(
    client: Client, address: str, body: bytes, *, at: int | str = 0, kind: str = PIECE, **more: str
):
    headers = {**TUS, "Upload-Offset": str(at), **more}
    # Told twice: without a body the test client leaves the kind out.
    return client.generic("PATCH", address, body, kind, headers=headers, CONTENT_TYPE=kind)


def head(client: Client, address: str):
    return client.head(address, headers=TUS)


def offset(client: Client, address: str) -> int:
    return int(head(client, address).headers["Upload-Offset"])
