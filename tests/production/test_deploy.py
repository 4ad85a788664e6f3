"""What deploy/ says, word for word where it can be: nginx before gunicorn, the workers and beat."""

from __future__ import annotations

import re
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from portal.kit.csp import MEDIA_POLICY
from portal.kit.knocking import BLOCK
from tests.browser.served import CAST
from tests.house import ROOT
from tests.mailroom.relay import free_port
from tests.media import film
from tests.production import units
from tests.production.units import here, unit
from tests.production.visiting import Visitor
from tests.servers import nginx, own_database, own_folder, program, started_redis, until

# Nobody of the staff gets in without a second factor.
APPS = """
from portal.people.models import User
from tests.factors import give_app
for user in User.objects.filter(memberships__isnull=False):
    give_app(user)
"""


@dataclass
class Portal:
    address: str
    plain_address: str
    certificate: str
    data: Path

    def visitor(self, email: str = "") -> Visitor:
        visitor = Visitor(self.address, self.certificate)
        if email:
            visitor.sign_in(email)
        return visitor


@contextmanager
def started(
    name: str, own: dict[str, str], places: dict[str, str], *, instance: str = ""
) -> Iterator[subprocess.Popen[bytes]]:
    """A unit, started and stopped as systemd would."""
    said = unit(name, instance=instance)
    environment = units.environment_of(said, own)
    for command in said.get("ExecStartPre", []):
        subprocess.run(
            here(command, places), env=environment, cwd=ROOT, check=True, capture_output=True
        )
    [command] = said["ExecStart"]
    process = subprocess.Popen(
        here(command, places),
        env=environment,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield process
        assert process.poll() is None, f"{name} has ended by itself"
    finally:
        status = stop(said, process, places)
    assert status in {0, *(int(code) for code in said.get("SuccessExitStatus", []))}


def stop(
    said: dict[str, list[str]], process: subprocess.Popen[bytes], places: dict[str, str]
) -> int:
    for command in said.get("ExecStop", []):
        line = command.removeprefix("-").replace("$MAINPID", str(process.pid))
        with subprocess.Popen(here(line, places)) as stopping:
            while stopping.poll() is None:
                # Whoever started a process must take note of its end, as systemd does.
                process.poll()
                time.sleep(0.05)
    [name] = said.get("KillSignal", ["SIGTERM"])
    process.send_signal(signal.Signals[name])
    return process.wait(timeout=40)


@pytest.fixture(scope="module")
def portal() -> Iterator[Portal]:
    with ExitStack() as stack:
        home = stack.enter_context(own_folder())
        stack.enter_context(started_redis(program("redis-server"), home))
        database = stack.enter_context(own_database())
        plain, secure = free_port(), free_port()
        tls = units.self_signed(home)
        data = home / "lib"
        own = {
            **database,
            "FLAGLINE_DATA": str(data),
            "FLAGLINE_REDIS": f"redis+socket://{home}/r.sock",
            "FLAGLINE_ADDRESS": f"https://localhost:{secure}",
            "FLAGLINE_SMTP_HOST": "",
            "FLAGLINE_SWEEP": "1",
        }
        places = {"/run/flagline": str(home)}
        web = stack.enter_context(started("flagline-web.service", own, places))
        until((home / "web.sock").stat, web)
        for queue in ("default", "media"):
            name = "flagline-worker@.service"
            stack.enter_context(started(name, own, places, instance=queue))
        stack.enter_context(started("flagline-beat.service", own, places))
        subprocess.run(
            [sys.executable, "-c", CAST + APPS],
            env={
                "DJANGO_SETTINGS_MODULE": "portal.settings",
                "PYTHONPATH": str(ROOT),
                **units.environment_of({}, own),
            },
            cwd=ROOT,
            check=True,
        )
        site = units.site(
            {
                "FLAGLINE_NAME": "localhost",
                "FLAGLINE_HTTP": f"127.0.0.1:{plain}",
                "FLAGLINE_HTTPS": f"127.0.0.1:{secure}",
                "FLAGLINE_WEB": f"unix:{home}/web.sock",
                "FLAGLINE_DATA": str(data),
                **tls,
            }
        )
        stack.enter_context(nginx(site, door=("127.0.0.1", secure)))
        yield Portal(
            f"https://localhost:{secure}",
            f"http://localhost:{plain}",
            tls["FLAGLINE_CERTIFICATE"],
            data,
        )


@pytest.fixture(scope="module")
def coach(portal: Portal) -> Visitor:
    return portal.visitor("marta.lind@example.org")


def send_over_a_line_that_breaks(coach: Visitor, session: str, film: bytes) -> None:
    """The line is gone before the film's end; what had come through by then is kept."""
    own: dict[str, Any] = {"Tus_Resumable": "1.0.0", "X_CSRFToken": coach.token(session)}
    told = {"Upload_Length": str(len(film)), "Upload_Metadata": "filename bGFuZSA0Lm1wNA=="}
    answer, _body = coach.ask(f"{session}arrivals/", data=b"", **own, **told)
    assert answer.status == 201
    arrival = answer.headers["Location"]
    piece = {**own, "Content_Type": "application/offset+octet-stream"}

    def here() -> int:
        return int(coach.ask(arrival, method="HEAD", **own)[0].headers["Upload-Offset"])

    half = len(film) // 2
    whole = str(len(film))
    line = coach.begins(arrival, film[:half], Upload_Offset="0", Content_Length=whole, **piece)
    ends = time.monotonic() + 20
    while here() < half - BLOCK:
        assert time.monotonic() < ends, "what was sent has not come in"
        time.sleep(0.1)
    line.close()
    kept = here()
    answer, _body = coach.ask(
        arrival, data=film[kept:], method="PATCH", Upload_Offset=str(kept), **piece
    )
    assert (answer.status, answer.headers["Upload-Offset"]) == (204, whole)


@dataclass
class Film:
    path: str
    """Its address."""
    recording: str
    whole: bytes


@pytest.fixture(scope="module")
def copy(portal: Portal, coach: Visitor, tmp_path_factory: pytest.TempPathFactory) -> Film:
    """A film that went in through nginx and was made ready by the worker of `media`."""
    take = film(tmp_path_factory.mktemp("film") / "lane 4.mp4", frames=90, size=(640, 360))
    found = re.search(rb'href="(/sessions/[0-9a-f-]{36}/)"', coach.ask("/sessions/")[1])
    assert found
    session = found.group(1).decode()
    # Room that a film leaves free at its end, so that it is not over at once.
    free = struct.pack(">I4s", 8 * BLOCK, b"free") + bytes(8 * BLOCK - 8)
    send_over_a_line_that_breaks(coach, session, take.read_bytes() + free)
    [recording] = set(re.findall(rb"/recordings/[0-9a-f-]{36}/", coach.ask(session)[1]))
    recording = recording.decode()
    ends = time.monotonic() + 60
    while not (address := re.search(rb"/copies/[0-9a-f-]{36}/film\.mp4", coach.ask(recording)[1])):
        assert time.monotonic() < ends, "the film was not made ready"
        time.sleep(0.3)
    [file] = (portal.data / "media" / "copies").glob("*.mp4")
    return Film(address.group().decode(), recording, file.read_bytes())


def test_it_works(coach: Visitor, copy: Film):
    answer, body = coach.ask(copy.path)

    assert answer.status == 200
    assert answer.headers["Server"] == "nginx"
    assert body == copy.whole


@pytest.mark.parametrize(
    "asked", ["0-0", "0-1", "100-199", "-500", "-99999999", "1000-", "0-99999999", "5000-9999"]
)
def test_a_part_of_it(coach: Visitor, copy: Film, asked: str):
    answer, body = coach.ask(copy.path, Range=f"bytes={asked}")

    first, _, last = asked.partition("-")
    size = len(copy.whole)
    begin = int(first) if first else max(0, size - int(last))
    end = min(int(last), size - 1) if first and last else size - 1
    assert answer.status == 206
    assert answer.headers["Content-Range"] == f"bytes {begin}-{end}/{size}"
    assert body == copy.whole[begin : end + 1]


def test_a_part_beyond_its_end(coach: Visitor, copy: Film):
    for asked in (f"{len(copy.whole)}-", "-0"):
        answer, _body = coach.ask(copy.path, Range=f"bytes={asked}")

        assert answer.status == 416
        assert answer.headers["Content-Range"] == f"bytes */{len(copy.whole)}"


@pytest.mark.parametrize("asked", ["bytes=0-0,5-9", "items=0-5"])
def test_what_is_no_single_part_is_ignored(coach: Visitor, copy: Film, asked: str):
    answer, body = coach.ask(copy.path, Range=asked)

    assert (answer.status, body) == (200, copy.whole)


def test_every_header_is_there_once(coach: Visitor, copy: Film):
    expected = {
        "Content-Type": "video/mp4",
        "Content-Disposition": "inline",
        "Cache-Control": "private, no-cache",
        "X-Content-Type-Options": "nosniff",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Content-Security-Policy": MEDIA_POLICY,
        "Vary": "Cookie",
    }
    for asked in ("", "bytes=0-9"):
        answer, _body = coach.ask(copy.path, Range=asked)

        assert {name: answer.headers.get_all(name) for name in expected} == {
            name: [value] for name, value in expected.items()
        }
        assert answer.headers.get_all("Accept-Ranges") == (None if asked else ["bytes"])
        assert answer.headers.get_all("Last-Modified") is None
        for name in ("ETag", "X-Request-ID"):
            assert len(answer.headers.get_all(name) or []) == 1, name

    page, _body = coach.ask("/sessions/")
    for name in ("Content-Security-Policy", "X-Frame-Options", "Strict-Transport-Security"):
        assert len(page.headers.get_all(name) or []) == 1, name
    assert len(page.headers.get_all("X-Content-Type-Options") or []) == 1


def test_the_tag_is_the_portals_own(coach: Visitor, copy: Film):
    """So it stays the same whatever machine sends the film."""
    tag = coach.ask(copy.path, method="HEAD")[0].headers["ETag"]

    assert re.fullmatch('"[0-9a-f]{64}"', tag)
    held, body = coach.ask(copy.path, If_None_Match=tag)
    assert (held.status, body, held.headers["ETag"]) == (304, b"", tag)
    assert coach.ask(copy.path, If_None_Match='"other"')[0].status == 200
    assert coach.ask(copy.path, Range="bytes=0-9", If_Range=tag)[0].status == 206
    assert coach.ask(copy.path, Range="bytes=0-9", If_Range='"other"')[0].status == 200
    assert coach.ask(copy.path, Range="bytes=0-9", If_Range=f"W/{tag}")[0].status == 200
    assert coach.ask(copy.path, Range="bytes=0-9", If_None_Match=tag)[0].status == 304
    assert coach.ask(copy.path, If_Match='"other"')[0].status == 412


def test_head_sends_nothing(coach: Visitor, copy: Film):
    answer, body = coach.ask(copy.path, method="HEAD")

    assert (answer.status, body) == (200, b"")
    assert answer.headers["Content-Length"] == str(len(copy.whole))


def test_pictures_go_the_same_way(coach: Visitor, copy: Film):
    answer, body = coach.ask(f"{copy.recording}strip.jpg")

    assert (answer.status, answer.headers["Content-Type"]) == (200, "image/jpeg")
    assert body[:3] == b"\xff\xd8\xff"


def test_nobody_else_gets_it(portal: Portal, copy: Film):
    assert portal.visitor().ask(copy.path)[0].status == 302
    assert portal.visitor("rolf.stein@example.org").ask(copy.path)[0].status == 404


def test_nobody_gets_past_the_portal(portal: Portal, coach: Visitor, copy: Film):
    [file] = (portal.data / "media" / "copies").glob("*.mp4")
    inside = f"/protected/copies/{file.name}"

    assert coach.ask(inside)[0].status == 404
    for trick in ("/static/../media", "/static../media", "/static/%2e%2e/media", "//protected"):
        answer, body = coach.ask(inside.replace("/protected", trick))
        assert answer.status in (400, 404)
        assert body != copy.whole
    for path in ("/sign-in/", "/concern/", copy.path.replace("film.mp4", "times.json")):
        answer, body = portal.visitor().ask(
            path, X_Accel_Redirect=inside, X_Sendfile=inside, X_Original_URL=inside
        )
        assert body != copy.whole
        assert answer.headers["Content-Type"] != "video/mp4"


def test_tries_at_the_door_are_counted_by_the_real_address(portal: Portal):
    """A header of one's own making gives no new tries."""
    visitor = portal.visitor()
    token = visitor.token("/sign-in/password/")
    told = {"email": "a@example.org", "password": "x", "csrfmiddlewaretoken": token}
    statuses = [
        visitor.ask(
            "/sign-in/password/", data=urlencode(told).encode(), X_Forwarded_For=f"192.0.2.{number}"
        )[0].status
        for number in range(11)
    ]

    assert statuses[-1] == 429


def test_static_files_come_from_nginx(portal: Portal):
    visitor = portal.visitor()
    page = visitor.ask("/sign-in/")[1].decode()
    [style, *_others] = re.findall(r'href="(/static/css/[^"]+)"', page)

    answer, body = visitor.ask(style)
    packed, _body = visitor.ask(style, Accept_Encoding="gzip")

    assert body == (portal.data / style.lstrip("/")).read_bytes()
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert answer.headers["Content-Type"] == "text/css"
    assert packed.headers["Content-Encoding"] == "gzip"
    assert visitor.ask("/static/staticfiles.json")[0].headers["Cache-Control"] is None


def test_plain_http_is_sent_away(portal: Portal):
    answer, _body = Visitor(portal.plain_address, portal.certificate).ask("/notes/?a=b")

    assert (answer.status, answer.headers["Location"]) == (301, "https://localhost/notes/?a=b")


def test_what_was_thrown_away_is_gone_with_the_next_part(coach: Visitor, copy: Film):
    """A player that lies open asks for part after part. The last test, as it ends the film."""
    assert coach.ask(copy.path, Range="bytes=0-99")[0].status == 206
    told = {"csrfmiddlewaretoken": coach.token("/sessions/")}

    coach.ask(f"{copy.recording}throw-away/", data=urlencode(told).encode())

    assert coach.ask(copy.path, Range="bytes=100-199")[0].status == 404
