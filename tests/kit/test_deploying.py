"""The settings of a club that has an address pass the framework's own list for going live."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.house import ROOT

CLUB = {
    "FLAGLINE_ADDRESS": "https://portal.example.org",
    "FLAGLINE_XACCEL": "/protected/",
    "PATH": "/usr/bin:/bin",
}


def checked(folder: Path, **settings: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        env={**CLUB, "FLAGLINE_DATA": str(folder), **settings},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def test_it_works(tmp_path: Path):
    run = checked(tmp_path)

    assert run.returncode == 0, run.stderr
    assert "no issues" in run.stdout


def test_a_fault_is_found(tmp_path: Path):
    run = checked(tmp_path, FLAGLINE_DEBUG="1")

    assert run.returncode == 1
    assert "security.W018" in run.stderr


def test_a_secret_that_can_be_guessed_stops_the_start(tmp_path: Path):
    run = checked(tmp_path, FLAGLINE_SECRET="change-me")

    assert run.returncode == 1
    assert "could be guessed" in run.stderr
    assert "change-me" not in run.stderr
