"""What must hold before the portal starts. Each refusal says what to do about it."""

from __future__ import annotations

import errno
import fcntl
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection

from portal.jobs.checks import is_loopback, public_demo_hindrance
from portal.people.models import Club


class AlreadyServed(Exception):
    """Another `serve` works with the same data."""


class NoDoor(Exception):
    """The portal cannot listen where it was told to."""


def demo_hindrance(address: str) -> str:
    """Why the demo may not listen at `address` with this database; empty when it may."""
    if not settings.DEMO:
        return ""
    if hindrance := public_demo_hindrance():
        return hindrance
    if not is_loopback(address):
        return (
            f"FLAGLINE_DEMO is on, but --address {address} can be reached from other machines: "
            "the demo signs anybody in. Use --address 127.0.0.1, or unset FLAGLINE_DEMO."
        )
    if real := _real_clubs():
        return (
            f"FLAGLINE_DEMO is on, but {settings.DATA_DIR} holds {real} club(s) of real people: "
            "the demo signs anybody in. Name another folder in FLAGLINE_DATA for the demo, or "
            "unset FLAGLINE_DEMO."
        )
    return ""


def _real_clubs() -> int:
    """None in a database that has no tables yet."""
    if Club._meta.db_table not in connection.introspection.table_names():
        return 0
    return Club.objects.filter(is_demo=False).count()


@contextmanager
def only_one(folder: Path) -> Iterator[None]:
    """Hold the folder's lock; the kernel lets go of it however this process ends."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "serve.lock"
    with path.open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            file.seek(0)
            holder = file.read().strip()
            raise AlreadyServed(
                f"The portal already runs with the data in {folder} (process {holder}). Stop "
                f"that one first (kill {holder}), or name another folder in FLAGLINE_DATA."
            ) from error
        file.truncate(0)
        file.write(f"{os.getpid()}\n")
        file.flush()
        yield


@contextmanager
def door(address: str, port: int) -> Iterator[socket.socket]:
    """A bound socket for the web server, which begins to listen on it when it is ready.

    The supervisor keeps it open, so that nobody can take the port while the web server restarts.
    """
    try:
        family, kind, _proto, _name, where = socket.getaddrinfo(
            address, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        bound = socket.socket(family, kind)
    except OSError as error:
        raise NoDoor(_no_door(address, port, error)) from error
    with bound:
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind(where)
        except OSError as error:
            raise NoDoor(_no_door(address, port, error)) from error
        yield bound


def _no_door(address: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"Port {port} at {address} is in use by another program. Stop that program, or choose "
            f"another port, such as --port {port + 1}."
        )
    return (
        f"The portal cannot listen at {address}, port {port}: {error.strerror}. Give an address "
        "of this machine with --address and a port from 1024 to 65535 with --port."
    )
