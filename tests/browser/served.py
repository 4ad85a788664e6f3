"""The whole portal as a person starts it: `manage.py serve` in a folder of its own."""

from __future__ import annotations

import os
import queue
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from tests.house import ROOT
from tests.servers import own_database

CAST = """
import django
django.setup()
from django.core.management import call_command
from tests.cast import assemble
call_command("migrate", verbosity=0, interactive=False)
call_command("load_technique")
assemble()
"""


class Portal:
    """A running portal that can be killed and started again where it was."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self.environment = environment
        self.process = self._start("0")
        self.address = _address(self.process)

    def _start(self, port: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", port, "--grace", "6"],
            env=self.environment,
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )

    def kill(self) -> None:
        """As when the power fails: nobody is asked, and none of its children lives on."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(timeout=20)

    def start_again(self) -> None:
        self._close()
        self.process = self._start(self.address.rsplit(":", 1)[1].rstrip("/"))
        assert _address(self.process) == self.address

    def stop(self) -> None:
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(timeout=20)
        self._close()

    def _close(self) -> None:
        assert self.process.stdout is not None
        self.process.stdout.close()


@contextmanager
def running(folder: Path, settings: Mapping[str, str]) -> Iterator[Portal]:
    """On the engine of the tests. The database is its own and holds the cast; `settings` are added
    to the environment."""
    with own_database() as database:
        environment = {
            **os.environ,
            "FLAGLINE_DATA": str(folder),
            "PYTHONPATH": str(ROOT),
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            **database,
            **settings,
        }
        subprocess.run([sys.executable, "-c", CAST], env=environment, cwd=ROOT, check=True)
        portal = Portal(environment)
        try:
            yield portal
        finally:
            portal.stop()


def _address(process: subprocess.Popen[str]) -> str:
    """Read what it says until it names its address; go on reading so that no pipe fills up."""
    found: queue.Queue[str] = queue.Queue()
    said: list[str] = []

    def listen() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            said.append(line)
            if match := re.search(r"answers at (http://\S+)", line):
                found.put(match.group(1))
        found.put("")

    threading.Thread(target=listen, daemon=True).start()
    address = found.get(timeout=60)
    assert address, "".join(said)
    return address
