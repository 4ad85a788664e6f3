"""The files of deploy/ as the tests start them: the same words, other places."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from string import Template
from typing import Any

import yaml

from tests.house import ROOT

DEPLOY = ROOT / "deploy"
HOME = "/opt/flagline"
SETTING = re.compile(r"^#?(FLAGLINE_[A-Z0-9_]+)=(.*)$", re.M)


def unit(name: str, *, instance: str = "") -> dict[str, list[str]]:
    """What a unit says, each key with all its values; `instance` stands after the @."""
    said: dict[str, list[str]] = {}
    for line in (DEPLOY / name).read_text().splitlines():
        key, is_set, value = line.partition("=")
        if is_set and not line.startswith("#"):
            whole = value.replace("%%", "\0").replace("%i", instance).replace("\0", "%")
            said.setdefault(key, []).append(whole)
    return said


def here(command: str, places: Mapping[str, str]) -> list[str]:
    """The words of a command on this machine."""
    for there, near in {f"{HOME}/.venv/bin/python": sys.executable, **places}.items():
        command = command.replace(there, near)
    assert HOME not in command
    return shlex.split(command)


def environment_of(said: Mapping[str, list[str]], own: Mapping[str, str]) -> dict[str, str]:
    """The example's settings and the unit's own, with `own` in their place where a test must."""
    example = (DEPLOY / "environment.example").read_text()
    switched_on = {hit[1]: hit[2] for hit in SETTING.finditer(example) if hit[0][0] != "#"}
    stated = [word.split("=", 1) for word in said.get("Environment", [])]
    return {"PATH": os.environ["PATH"], **switched_on, **dict(stated), **own}


def settings_named() -> list[str]:
    """Every FLAGLINE_ name of the example, switched on or off."""
    example = (DEPLOY / "environment.example").read_text()
    return [hit[1] for hit in SETTING.finditer(example)]


def compose() -> dict[str, Any]:
    found: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text())
    return found


def site(values: Mapping[str, str]) -> str:
    """The nginx template filled in; nginx's own variables stay."""
    text = Template((DEPLOY / "nginx.conf").read_text()).safe_substitute(values)
    lines = [line for line in text.splitlines() if not line.lstrip().startswith("#")]
    assert "${" not in "".join(lines)
    return "\n".join(lines)


def self_signed(folder: Path) -> dict[str, str]:
    """A certificate for localhost, as the values that the template wants."""
    key, certificate = folder / "flagline.key", folder / "flagline.pem"
    words = ["-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj", "/CN=localhost"]
    words += ["-addext", "subjectAltName=DNS:localhost"]
    subprocess.run(
        ["openssl", "req", *words, "-keyout", key, "-out", certificate],
        check=True,
        capture_output=True,
    )
    return {"FLAGLINE_CERTIFICATE": str(certificate), "FLAGLINE_CERTIFICATE_KEY": str(key)}


def words_of(command: str | Iterable[str]) -> list[str]:
    return shlex.split(command) if isinstance(command, str) else list(command)
