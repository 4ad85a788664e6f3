"""Real PostgreSQL, Redis and nginx for the tests: own instances, private sockets, no ports."""

from __future__ import annotations

import os
import pwd
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

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
                *["-A", "trust", "-U", "portal", "--no-sync"],
                *["-E", "UTF8", "--locale=C.UTF-8", "-D", str(data)],
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
def own_database() -> Iterator[dict[str, str]]:
    """For a portal that a test starts, the environment that gives it an empty database: its own
    on the PostgreSQL that the tests use, nothing where they use SQLite."""
    server = os.environ.get("FLAGLINE_DATABASE")
    if not server:
        yield {}
        return
    name = f"t{secrets.token_hex(6)}"
    with psycopg.connect(server, autocommit=True) as link:
        link.execute(f"CREATE DATABASE {name}")
        try:
            yield {"FLAGLINE_DATABASE": urlsplit(server)._replace(path=f"/{name}").geturl()}
        finally:
            link.execute(f"DROP DATABASE {name} WITH (FORCE)")


@contextmanager
def redis_server() -> Iterator[Path]:
    """An empty Redis that keeps nothing; gives the path of its socket."""
    server = program("redis-server", "/usr/bin")
    with own_folder() as home, started_redis(server, home) as path:
        yield path


@contextmanager
def started_redis(server: str, home: Path) -> Iterator[Path]:
    path = home / "r.sock"
    process = subprocess.Popen(
        [server, "--port", "0", "--unixsocket", str(path), "--save", "", "--dir", str(home)],
        stdout=subprocess.DEVNULL,
    )
    try:
        until(lambda: redis.Redis(unix_socket_path=str(path)).ping(), process)
        yield path
    finally:
        process.terminate()
        process.wait()


@contextmanager
def nginx(site: str, *, door: tuple[str, int]) -> Iterator[None]:
    """nginx with this site, as whoever runs the tests; ready when it listens at `door`."""
    server = program("nginx", "/usr/sbin")
    with own_folder() as home:
        (home / "site.conf").write_text(site)
        kinds = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"]
        http = [
            "include /etc/nginx/mime.types",
            "access_log off",
            *(f"{kind}_temp_path {home}/{kind}" for kind in kinds),
            f"include {home}/site.conf",
        ]
        whole = [
            *(["user root"] if os.geteuid() == 0 else []),
            "daemon off",
            "worker_processes 1",
            f"pid {home}/pid",
            f"error_log {home}/error.log",
        ]
        (home / "nginx.conf").write_text(
            ";\n".join(whole) + ";\nevents {}\nhttp {\n" + ";\n".join(http) + ";\n}\n"
        )
        process = subprocess.Popen(
            [server, "-c", str(home / "nginx.conf"), "-e", str(home / "error.log")],
            stderr=subprocess.PIPE,
        )
        try:
            until(lambda: socket.create_connection(door, timeout=1).close(), process)
            yield
        finally:
            process.terminate()
            process.communicate()
