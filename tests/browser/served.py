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


@contextmanager
def served(folder: Path, settings: Mapping[str, str]) -> Iterator[str]:
    """Its address, on the engine of the tests. The database is its own and holds the cast;
    `settings` are added to the environment."""
    with own_database() as database, _served(folder, {**database, **settings}) as address:
        yield address


@contextmanager
def _served(folder: Path, settings: Mapping[str, str]) -> Iterator[str]:
    environment = {
        **os.environ,
        "FLAGLINE_DATA": str(folder),
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "portal.settings",
        **settings,
    }
    subprocess.run([sys.executable, "-c", CAST], env=environment, cwd=ROOT, check=True)
    process = subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--port", "0", "--grace", "6"],
        env=environment,
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield _address(process)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=20)
        assert process.stdout is not None
        process.stdout.close()


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
