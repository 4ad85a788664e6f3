"""Speeds as ratios to a limit: `python -m tests.bench [--only NAME …]`.

Prints a table and writes build/bench.json. Nothing here passes or fails: a missed target is
said, and somebody has to think about it.
"""

from __future__ import annotations

import os
from argparse import ArgumentParser
from pathlib import Path
from tempfile import TemporaryDirectory

import django
from django.utils.module_loading import import_string


def main() -> None:
    parser = ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--only", nargs="+", default=[], help="Names of benches to run.")
    only = parser.parse_args().only
    with TemporaryDirectory(prefix="fl", dir="/tmp") as folder:
        _settle_in(folder)
        # Whatever knows the portal can only be loaded from here on.
        import_string("tests.bench.running.run")(only, Path(folder))


def _settle_in(folder: str) -> None:
    """An embedded portal of its own, whatever settings the person at the keyboard has."""
    for name in [name for name in os.environ if name.startswith("FLAGLINE_")]:
        del os.environ[name]
    os.environ["FLAGLINE_DATA"] = folder
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"
    # Playwright keeps an event loop in this thread; no query is made in a coroutine.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    django.setup()


if __name__ == "__main__":
    main()
