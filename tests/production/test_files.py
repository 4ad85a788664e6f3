"""deploy/ and the settings agree with each other."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house import ROOT
from tests.production import units

READS = re.compile(r'env\.(?:text|flag|number|words|secret)\(\s*"(FLAGLINE_[A-Z0-9_]+)"')


def test_every_setting_is_in_the_example():
    read = set(READS.findall((ROOT / "portal" / "settings.py").read_text()))
    named = units.settings_named()

    assert len(read) > 15
    assert sorted(named) == sorted({*read, "FLAGLINE_SECRET_FILE"})


def test_every_setting_of_the_example_is_explained():
    before = ""
    for line in (units.DEPLOY / "environment.example").read_text().splitlines():
        if units.SETTING.match(line):
            assert before.startswith("#"), f"nothing stands above {line}"
        before = line


@pytest.mark.parametrize(
    ("service", "unit", "instance"),
    [
        ("web", "flagline-web.service", ""),
        ("worker-default", "flagline-worker@.service", "default"),
        ("worker-media", "flagline-worker@.service", "media"),
        ("beat", "flagline-beat.service", ""),
    ],
)
def test_containers_run_what_the_units_run(service: str, unit: str, instance: str):
    [command] = units.unit(unit, instance=instance)["ExecStart"]

    assert units.words_of(units.compose()["services"][service]["command"]) == command.split()


def test_containers_are_prepared_as_the_units_are():
    *_shell, script = units.compose()["services"]["prepare"]["command"]

    assert script.splitlines() == units.unit("flagline-web.service")["ExecStartPre"]


def test_containers_have_what_the_images_need():
    services = units.compose()["services"]
    built = services["web"]["build"]["dockerfile_inline"]
    copied = re.findall(r"^COPY (.+) \S+$", built, re.M)

    assert {"postgres:15", "redis:7"} <= {service["image"] for service in services.values()}
    assert all((ROOT / name).exists() for names in copied for name in names.split())
    assert set(re.findall(r"\$\{(FLAGLINE_\w+)\}", (units.DEPLOY / "nginx.conf").read_text())) == {
        name for name in services["nginx"]["environment"] if name.startswith("FLAGLINE_")
    }


def test_the_settings_of_a_real_portal_pass_the_checks(tmp_path: Path):
    own = {"FLAGLINE_DATA": str(tmp_path), "PYTHONPATH": str(ROOT)}
    checked = subprocess.run(
        [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        env=units.environment_of({}, own),
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert checked.stderr == ""
    assert checked.returncode == 0
    assert "no issues" in checked.stdout
