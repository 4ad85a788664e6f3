"""The house rules hold, and every checker turns red on a planted fault."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests import house

TOOLS = Path(sys.executable).parent


def test_templates_are_escaped_and_nothing_stands_inline():
    assert house.template_faults(house.ROOT) == []


def test_no_signals():
    assert house.signal_uses(house.ROOT) == []


def test_log_lines_are_fixed_words():
    assert house.wordy_log_lines(house.ROOT) == []


def test_every_drawer_has_a_label():
    assert house.unlabelled_drawers(house.ROOT) == []


def test_no_room_has_outgrown_itself():
    assert house.outgrown_rooms(house.ROOT) == []


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The tree without footage and scratch, to plant faults in."""
    root = tmp_path_factory.mktemp("house") / "tree"
    unwanted = shutil.ignore_patterns(".*", "footage", "build", "*.woff2", "__pycache__")
    shutil.copytree(house.ROOT, root, ignore=unwanted)
    return root


@pytest.fixture
def plant(copy: Path):
    """Write a file into the copy and put things back afterwards."""
    before: dict[Path, str | None] = {}

    def write(name: str, text: str, *, after: bool = False) -> Path:
        path = copy / name
        before[path] = path.read_text() if path.exists() else None
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{before[path] or ''}\n{text}" if after else text)
        return copy

    yield write
    for path, text in before.items():
        if text is None:
            path.unlink()
        else:
            path.write_text(text)


@pytest.mark.parametrize(
    ("markup", "fault"),
    [
        ("{{ words|safe }}", "unescaped"),
        ("{% autoescape off %}{{ words }}{% endautoescape %}", "unescaped"),
        ("<script>play()</script>", "inline script"),
        ('<button onclick="play()">x</button>', "inline handler"),
        ('<p style="color: red">x</p>', "inline style"),
        ("<style>p { color: red }</style>", "inline style"),
        ('<form method="post"><button>x</button></form>', "without csrf_token"),
    ],
)
def test_a_planted_template_fault_is_found(plant, markup: str, fault: str):
    root = plant("templates/people/planted.html", markup)

    [found] = house.template_faults(root)

    assert fault in found


def test_a_planted_signal_is_found(plant):
    root = plant(
        "portal/people/models.py", "from django.db.models.signals import post_save", after=True
    )

    [found] = house.signal_uses(root)
    assert found.startswith("portal/people/models.py:")


@pytest.mark.parametrize(
    "call", ['log.info("kept %s", name)', "log.warning(str(error))", 'logging.error(f"no {name}")']
)
def test_a_planted_log_line_with_words_is_found(plant, call: str):
    root = plant("portal/people/planted.py", call)

    assert house.wordy_log_lines(root) == ["portal/people/planted.py:1"]


def lint_imports(root: Path) -> str:
    """What import-linter says of the tree; empty when every contract is kept."""
    run = subprocess.run(
        [TOOLS / "lint-imports", "--no-cache"],
        cwd=root,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(root), "PATH": ""},
        check=False,
    )
    return "" if run.returncode == 0 else run.stdout + run.stderr


@pytest.mark.parametrize(
    ("file", "text", "contract"),
    [
        ("portal/people/consenting.py", "import portal.review.models", "floors"),
        ("portal/attic/__init__.py", "", "floors"),
        ("portal/kit/ranges.py", "import django", "pure"),
        ("portal/recordings/cutting.py", "import portal.recordings.jobs", "bell"),
        ("portal/people/models.py", "import portal.people.views", "rooms"),
    ],
)
def test_a_planted_import_turns_the_floors_red(plant, file: str, text: str, contract: str):
    root = plant(file, text, after=True)

    said = lint_imports(root)

    names = {
        "floors": "Apps import downwards only",
        "pure": "Sums know no Django",
        "bell": "Only views, jobs and commands know the jobs",
        "rooms": "Inside an app",
    }
    assert re.search(rf"^{names[contract]}.* BROKEN$", said, re.M), said


def test_a_planted_column_without_migration_is_found(plant, tmp_path: Path):
    root = plant(
        "portal/audit/models.py", "    planted = models.BooleanField(default=False)", after=True
    )

    run = subprocess.run(
        [sys.executable, "manage.py", "makemigrations", "--check", "--dry-run"],
        cwd=root,
        capture_output=True,
        text=True,
        env={"FLAGLINE_DATA": str(tmp_path), "PATH": ""},
        check=False,
    )

    assert run.returncode == 1
    assert "planted" in run.stdout
