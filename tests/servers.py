"""Real PostgreSQL, Redis and nginx for the tests: own instances, private sockets, no ports."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import redis


class Missing(Exception):
    """A server's program is not on this machine."""


def program(name: str, *places: str) -> str:
    """Its path; servers hide in folders that are on no PATH."""
    for place in ["", *places]:
        found = shutil.which(name, path=place or None)
        if found:
            return found
    raise Missing(f"{name} is not installed. Type: sudo deploy/packages.sh test")


def postgres_folder() -> str:
    newest = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: int(p.parent.name))
    return str(newest[-1]) if newest else ""


def until(ready: Callable[[], object], process: subprocess.Popen[bytes]) -> None:
    """Wait for a server to answer; 20 s at most."""
    problem: Exception | None = None
    for _ in range(400):
        if process.poll() is not None:
            raise RuntimeError(f"{process.args!r} ended with {process.returncode}")
        try:
            ready()
        except Exception as error:  # noqa: BLE001 - any refusal means: not yet
            problem = error
            time.sleep(0.05)
        else:
            return
    raise RuntimeError(f"{process.args!r} did not answer") from problem


@contextmanager
def own_folder(user: int | None = None) -> Iterator[Path]:
    """A short path, since a socket's may have 107 bytes at most."""
    folder = Path(tempfile.mkdtemp(prefix="fl", dir="/tmp"))
    if user is not None:
        os.chown(folder, user, -1)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def postgres() -> Iterator[str]:
    """A fresh cluster; gives the URL of its database `portal`. As root it runs as `postgres`."""
    folder = postgres_folder()
    initdb, server = program("initdb", folder), program("postgres", folder)
    root = os.geteuid() == 0
    user = pwd.getpwnam("postgres") if root else None
    who: dict[str, Any] = {}
    if user:
        who = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    with own_folder(user.pw_uid if user else None) as home:
        data = home / "data"
        subprocess.run(
            [
                initdb,
                *"-A trust --no-sync -E UTF8 --locale=C.UTF-8 -U portal -D".split(),
                str(data),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
            cwd="/",
            **who,
        )
        careless = ["fsync=off", "synchronous_commit=off", "full_page_writes=off"]
        options = ["listen_addresses=", f"unix_socket_directories={home}", *careless]
        process = subprocess.Popen(
            [server, "-D", str(data), *(part for o in options for part in ("-c", o))],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd="/",
            **who,
        )
        try:
            address = f"host={home} user=portal"
            until(lambda: psycopg.connect(f"{address} dbname=postgres").close(), process)
            with psycopg.connect(f"{address} dbname=postgres", autocommit=True) as link:
                link.execute("CREATE DATABASE portal")
            yield f"postgresql://portal@/portal?host={home}"
        finally:
            process.send_signal(signal.SIGQUIT)
            process.wait()


@contextmanager
def redis_server() -> Iterator[Path]:
    """An empty Redis that keeps nothing; gives the path of its socket."""
    server = program("redis-server", "/usr/bin")
    with own_folder() as home, started_redis(server, home) as socket:
        yield socket


@contextmanager
def started_redis(server: str, home: Path) -> Iterator[Path]:
    socket = home / "r.sock"
    process = subprocess.Popen(
        [server, "--port", "0", "--unixsocket", str(socket), "--save", "", "--dir", str(home)],
        stdout=subprocess.DEVNULL,
    )
    try:
        until(lambda: redis.Redis(unix_socket_path=str(socket)).ping(), process)
        yield socket
    finally:
        process.terminate()
        process.wait()
