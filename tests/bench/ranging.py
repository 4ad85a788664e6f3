"""Ranges of 1 MiB out of a film, as a player asks for them, beside nginx that asks nobody."""

from __future__ import annotations

import http.client
import os
import random
import ssl
import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from django.conf import settings
from django.urls import reverse

from portal.recordings.models import Rendition
from tests.bench import answering
from tests.bench.measuring import Row, Target, in_turn
from tests.cast import Cast
from tests.production import units
from tests.recordings import filmed
from tests.servers import nginx

FILM_BYTES = 50 * 1024**2
RANGE_BYTES = 1024**2
RUNS, CONNECTIONS, REQUESTS_EACH = 5, 4, 12
# In bytes a second. The target is one for lines that households have; with no line between,
# nginx does nothing but copy, and the figure only says what asking for leave costs.
PACES = {"100 Mbit/s each": 12_500_000, "no line between": None}
TARGETS = {"100 Mbit/s each": Target(at_least=0.85)}
BLOCK = 64 * 1024
# The limit: the same file from the same nginx, with TLS as behind the portal and without.
ALONE = """
server {
    listen 127.0.0.1:%(plain)d;
    listen 127.0.0.1:%(sealed)d ssl;
    ssl_certificate %(FLAGLINE_CERTIFICATE)s;
    ssl_certificate_key %(FLAGLINE_CERTIFICATE_KEY)s;
    sendfile on;
    root %(media)s;
}
"""


@dataclass(frozen=True)
class Door:
    """Where a film can be had, and what has to be said for it."""

    port: int
    path: str
    headers: Mapping[str, str]
    trust: ssl.SSLContext | None = None

    def megabytes_a_second(self, pace: int | None) -> float:
        """By all viewers together; `pace` is what each of them can take, in bytes a second."""
        began = time.perf_counter()
        with ThreadPoolExecutor(CONNECTIONS) as pool:
            got = sum(pool.map(partial(self._draw, pace=pace), range(CONNECTIONS)))
        return got / 1e6 / (time.perf_counter() - began)

    def _draw(self, seed: int, *, pace: int | None) -> int:
        """Ranges by chance, one after the other over one connection. Gives the bytes."""
        chance = random.Random(seed)  # noqa: S311 - where to read
        connection = self._connection()
        for _ in range(REQUESTS_EACH):
            first = chance.randrange(FILM_BYTES - RANGE_BYTES)
            span = f"bytes={first}-{first + RANGE_BYTES - 1}"
            connection.request("GET", self.path, headers={**self.headers, "Range": span})
            with connection.getresponse() as response:
                assert response.status == 206, (self.path, response.status)
                assert _read(response, pace) == RANGE_BYTES, self.path
        connection.close()
        return RANGE_BYTES * REQUESTS_EACH

    def _connection(self) -> http.client.HTTPConnection:
        if self.trust is None:
            return http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        return http.client.HTTPSConnection("localhost", self.port, timeout=20, context=self.trust)


def _read(response: http.client.HTTPResponse, pace: int | None) -> int:
    block, got, began = bytearray(BLOCK), 0, time.perf_counter()
    while more := response.readinto(block):
        got += more
        if pace:
            time.sleep(max(0, began + got / pace - time.perf_counter()))
    return got


def ranges(cast: Cast, folder: Path) -> list[Row]:
    film = _film(cast)
    name, address = f"/{film.file.name}", reverse("recordings:film", args=[film.code])
    crumbs = [f"{name}={value}" for name, value in answering.cookie(cast.coach).items()]
    said = {"Host": "localhost", "Cookie": "; ".join(crumbs)}
    sealed = units.self_signed(folder)
    trust = ssl.create_default_context(cafile=sealed["FLAGLINE_CERTIFICATE"])
    front, alone, plain, unused = (answering.free_port() for _ in range(4))
    with (
        answering.portal() as own,
        answering.portal({"FLAGLINE_XACCEL": "/protected/"}) as behind,
    ):
        values = {
            **sealed,
            "FLAGLINE_NAME": "localhost",
            "FLAGLINE_HTTP": f"127.0.0.1:{unused}",
            "FLAGLINE_HTTPS": f"127.0.0.1:{front}",
            "FLAGLINE_WEB": f"127.0.0.1:{behind}",
            "FLAGLINE_DATA": str(settings.DATA_DIR),
        }
        limit = {**sealed, "plain": plain, "sealed": alone, "media": settings.MEDIA_ROOT}
        doors = {
            "nginx with TLS": Door(alone, name, {}, trust),
            "nginx + portal": Door(front, address, said, trust),
            "nginx": Door(plain, name, {}),
            "portal alone": Door(own, address, said),
        }
        with nginx(units.site(values) + ALONE % limit, door=("127.0.0.1", front)):
            return [row for pace in PACES for row in _compared(doors, pace)]


def _compared(doors: Mapping[str, Door], pace: str) -> list[Row]:
    works = {name: partial(door.megabytes_a_second, PACES[pace]) for name, door in doors.items()}
    in_turn(works, runs=1)
    found = in_turn(works, runs=RUNS)
    return [
        Row.of(
            f"{ours}, {pace}",
            found[ours],
            found[limit],
            unit="MB/s",
            beside=f"{limit}, alone",
            target=target,
        )
        for ours, limit, target in [
            ("nginx + portal", "nginx with TLS", TARGETS.get(pace)),
            ("portal alone", "nginx", None),
        ]
    ]


def _film(cast: Cast) -> Rendition:
    """Noise: nothing here looks at it."""
    copy = filmed.ready(cast).renditions.get()
    path = Path(copy.file.path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(os.urandom(FILM_BYTES))
    return copy
