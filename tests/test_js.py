"""The pure modules of the browser side, tried by node."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

HERE = Path(__file__).parent / "js"


def test_it_works():
    node = shutil.which("node")
    if node is None:
        pytest.fail("node is missing. Type: apt-get install -y nodejs", pytrace=False)
    tried = subprocess.run(
        [node, "--test", *sorted(HERE.glob("*.test.mjs"))], capture_output=True, text=True
    )
    assert tried.returncode == 0, tried.stdout + tried.stderr
    assert "# tests 0" not in tried.stdout
