"""Films sent piece by piece, as the page sends them, beside `cat` that writes the same bytes."""

from __future__ import annotations

import http.client
import os
import subprocess
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from django.urls import reverse
from django.utils import timezone

from portal.kit.storage import path_of
from portal.recordings import receiving
from portal.recordings.models import Arrival
from tests.bench import answering
from tests.bench.measuring import Row, in_turn
from tests.cast import Cast

FILM_BYTES = 256 * 1024**2
# As in static/js/upload/sending.js.
PIECE = 8 * 1024**2

RUNS = 7
HEAD = b"\x00\x00\x00\x18ftypmp42"


@dataclass(frozen=True)
class Sender:
    """Somebody at the portal's own server, with a film of which all but the last byte is sent:
    the last one makes a recording of it, which is work of another kind."""

    port: int
    headers: Mapping[str, str]
    cast: Cast
    film: Path

    def megabytes_a_second(self) -> float:
        film = receiving.Announced(name="film.mp4", kind="video/mp4", length=FILM_BYTES)
        arrival = receiving.begin(self.cast.session, film, by=self.cast.coach, at=timezone.now())
        address = reverse("recordings:arrival", args=[arrival.code])
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        # Whoever asks first pays for the connection to the database.
        line.request("HEAD", address, headers=self.headers)
        assert line.getresponse().read() == b""
        began = time.perf_counter()
        with self.film.open("rb", buffering=0) as source:
            for offset in range(0, FILM_BYTES - 1, PIECE):
                self._patch(line, address, source.read(PIECE)[: FILM_BYTES - 1 - offset], offset)
        spent = time.perf_counter() - began
        line.close()
        assert path_of(f"arriving/{arrival.code}.part").stat().st_size == FILM_BYTES - 1
        receiving.drop(Arrival.objects.get(pk=arrival.pk))
        return FILM_BYTES / 1e6 / spent

    def _patch(
        self, line: http.client.HTTPConnection, address: str, body: bytes, offset: int
    ) -> None:
        own = {"Upload-Offset": str(offset), "Content-Type": "application/offset+octet-stream"}
        line.request("PATCH", address, body, {**self.headers, **own})
        with line.getresponse() as answer:
            assert answer.status == 204, answer.read()


def patches(cast: Cast, folder: Path) -> list[Row]:
    film = folder / "film.mp4"
    film.write_bytes(HEAD + os.urandom(FILM_BYTES - len(HEAD)))
    crumbs = answering.cookie(cast.coach)
    token = "a" * 32
    headers = {
        "Host": "localhost",
        "Cookie": "; ".join(
            f"{name}={value}" for name, value in {**crumbs, "flagline_csrf": token}.items()
        ),
        "X-CSRFToken": token,
        "Tus-Resumable": "1.0.0",
    }
    with answering.portal() as port:
        sender = Sender(port, headers, cast, film)
        works: dict[str, Callable[[], float]] = {
            "sent": sender.megabytes_a_second,
            "cat": partial(_cat, film, folder / "copy.mp4"),
        }
        in_turn(works, runs=1)
        found = in_turn(works, runs=RUNS)
    what = "film sent in pieces of 8 MiB"
    return [Row.of(what, found["sent"], found["cat"], unit="MB/s", beside="cat to a file")]


def _cat(source: Path, target: Path) -> float:
    began = time.perf_counter()
    with target.open("wb") as file:
        subprocess.run(["cat", source], stdout=file, check=True)
    spent = time.perf_counter() - began
    target.unlink()
    return FILM_BYTES / 1e6 / spent
