"""WebKitGTK and Firefox ESR from Debian's packages, each driven over its own standard wire: the
W3C's WebDriver for the one, its WebDriver BiDi for the other. A page is opened, a script asked."""

from __future__ import annotations

import asyncio
import json
import os
import re
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from socket import create_server
from tempfile import TemporaryDirectory
from typing import Any, Protocol

import aiohttp

from tests.servers import until

WEBKIT_DRIVER, FIREFOX = "WebKitWebDriver", "firefox-esr"
MINI = sorted(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"))
PATIENCE = 60
SIZE = {"width": 390, "height": 800}


class Browser(Protocol):
    def cookie(self, name: str, value: str, address: str) -> None: ...
    def go(self, address: str) -> None: ...
    def run(self, script: str) -> Any:
        """The value of the expression; a promise is waited for."""

    def do(self, script: str) -> None:
        """It may lead to another page."""


def missing() -> list[str]:
    """Debian packages that are not there."""
    found = {
        "webkit2gtk-driver": shutil.which(WEBKIT_DRIVER) and MINI,
        "xvfb": shutil.which("Xvfb"),
        "firefox-esr": shutil.which(FIREFOX),
    }
    return [package for package, is_here in found.items() if not is_here]


class Left(Exception):
    """The page went away before it had answered; the next one is to be asked."""


class WebKit:
    def __init__(self, base: str) -> None:
        self.base = base
        options = {"binary": str(MINI[-1]), "args": ["--automation"]}
        wanted = {"alwaysMatch": {"webkitgtk:browserOptions": options}}
        made = _ask(base, "POST", "/session", {"capabilities": wanted})
        self.at = f"/session/{made['sessionId']}"
        self._post("window/rect", SIZE)

    def cookie(self, name: str, value: str, address: str) -> None:
        # A cookie can be given only to a page that is open already.
        self.go(f"{address}/health/")
        self._post("cookie", {"cookie": {"name": name, "value": value, "path": "/"}})

    def go(self, address: str) -> None:
        self._post("url", {"url": address})

    def run(self, script: str) -> Any:
        told = f"const done = arguments[0]; Promise.resolve({script}).then(done);"
        try:
            return self._post("execute/async", {"script": told, "args": []})
        except Left:
            return self.run(script)

    def do(self, script: str) -> None:
        self._post("execute/sync", {"script": script, "args": []})

    def close(self) -> None:
        _ask(self.base, "DELETE", self.at)

    def _post(self, what: str, body: dict[str, Any]) -> Any:
        return _ask(self.base, "POST", f"{self.at}/{what}", body)


def _ask(base: str, method: str, path: str, body: dict[str, Any] | None = None) -> Any:
    wire = HTTPConnection(base, timeout=PATIENCE)
    wire.request(method, path, None if body is None else json.dumps(body))
    answer = wire.getresponse()
    value = json.load(answer)["value"]
    wire.close()
    if isinstance(value, dict) and "unload" in value.get("message", ""):
        raise Left(path)
    if answer.status != HTTPStatus.OK:
        raise RuntimeError(f"{path}: {value}")
    return value


@contextmanager
def webkit() -> Iterator[WebKit]:
    with _screen() as screen, _driver(screen) as base:
        browser = WebKit(base)
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def _screen() -> Iterator[str]:
    read, write = os.pipe()
    command = ["Xvfb", "-displayfd", str(write), "-screen", "0", "800x1000x24"]
    process = subprocess.Popen(
        [*command, "-nolisten", "tcp"], pass_fds=[write], stderr=subprocess.DEVNULL
    )
    os.close(write)
    try:
        with os.fdopen(read) as told:
            yield f":{told.readline().strip()}"
    finally:
        process.terminate()
        process.wait(timeout=20)


@contextmanager
def _driver(screen: str) -> Iterator[str]:
    # Without a user's namespaces, as in most containers, its own sandbox does not start.
    weak = {"WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1", "NO_AT_BRIDGE": "1"}
    port = _free_port()
    process = subprocess.Popen(
        [WEBKIT_DRIVER, f"--port={port}"], env={**os.environ, **weak, "DISPLAY": screen}
    )
    base = f"127.0.0.1:{port}"
    try:
        until(lambda: _ask(base, "GET", "/status"), process)
        yield base
    finally:
        process.terminate()
        process.wait(timeout=20)


class Firefox:
    """Its wire is a web socket, which a loop in a thread of its own holds."""

    def __init__(self, socket: str, loop: asyncio.AbstractEventLoop) -> None:
        self.loop, self.number = loop, 0
        self.socket = self._wait(self._open(socket))
        self.call("session.new", capabilities={})
        [tree] = self.call("browsingContext.getTree")["contexts"]
        self.tab = tree["context"]
        self.call("browsingContext.setViewport", context=self.tab, viewport=SIZE)

    def cookie(self, name: str, value: str, address: str) -> None:
        host = re.sub(r"^https?://|:\d+$", "", address)
        kept = {"name": name, "value": {"type": "string", "value": value}, "domain": host}
        self.call("storage.setCookie", cookie={**kept, "path": "/"})

    def go(self, address: str) -> None:
        self.call("browsingContext.navigate", context=self.tab, url=address, wait="complete")

    def run(self, script: str) -> Any:
        told = self.call(
            "script.evaluate",
            expression=f"Promise.resolve({script}).then(JSON.stringify)",
            target={"context": self.tab},
            awaitPromise=True,
        )
        if told["type"] == "exception":
            raise RuntimeError(told["exceptionDetails"]["text"])
        found = told["result"]
        return json.loads(found["value"]) if found["type"] == "string" else None

    def do(self, script: str) -> None:
        self.run(f"void ({script})")

    def call(self, method: str, **given: Any) -> Any:
        return self._wait(self._call(method, given))

    def close(self) -> None:
        self.call("browser.close")
        self._wait(self.socket.close())
        self._wait(self.wire.close())

    def _wait(self, work: Any) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self.loop).result(PATIENCE)

    async def _open(self, socket: str) -> aiohttp.ClientWebSocketResponse:
        self.wire = aiohttp.ClientSession()
        return await self.wire.ws_connect(f"{socket}/session", max_msg_size=0)

    async def _call(self, method: str, given: dict[str, Any]) -> Any:
        self.number += 1
        await self.socket.send_json({"id": self.number, "method": method, "params": given})
        while True:
            told = await self.socket.receive_json()
            if told.get("id") == self.number:
                if told["type"] == "error":
                    raise RuntimeError(f"{method}: {told['message']}")
                return told["result"]


@contextmanager
def firefox() -> Iterator[Firefox]:
    with TemporaryDirectory(prefix="fl") as profile, _loop() as loop:
        command = [FIREFOX, "--headless", "--no-remote", "--profile", profile]
        process = subprocess.Popen(
            [*command, "--remote-debugging-port", "0", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        try:
            browser = Firefox(_socket(process), loop)
            yield browser
            browser.close()
        finally:
            with suppress(ProcessLookupError):
                process.terminate()
            process.communicate(timeout=20)


def _socket(process: subprocess.Popen[str]) -> str:
    assert process.stderr is not None
    for line in process.stderr:
        if found := re.search(r"ws://\S+", line):
            return found.group()
    raise RuntimeError(f"{FIREFOX} ended without naming its socket")


@contextmanager
def _loop() -> Iterator[asyncio.AbstractEventLoop]:
    loop = asyncio.new_event_loop()
    thread = threading.Thread(target=loop.run_forever, daemon=True)
    thread.start()
    try:
        yield loop
    finally:
        loop.call_soon_threadsafe(loop.stop)
        thread.join(timeout=20)
        loop.close()


def _free_port() -> int:
    with create_server(("127.0.0.1", 0)) as bound:
        return int(bound.getsockname()[1])
