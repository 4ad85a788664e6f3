"""What the linters cannot see of the house rules: each function lists what breaks one."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOGS = {"log", "logger", "logging"}
LEVELS = {"debug", "info", "warning", "error", "exception", "critical", "log"}
DRAWERS = {"utils", "helpers", "common", "core", "misc", "services", "manager", "base", "methods"}

INLINE = {
    "unescaped": re.compile(r"\|\s*safe\b|\{%\s*autoescape\s+off"),
    "inline script": re.compile(r"<script(?![^>]*\bsrc=)[^>]*>\s*\S", re.S),
    "inline handler": re.compile(r"<[^>]*\son\w+\s*=", re.I),
    "inline style": re.compile(r"<[^>]*\sstyle\s*=|<style\b", re.I),
    "htmx script": re.compile(r"\shx-on\b|\bjs:"),
}
POST_FORM = re.compile(r"<form\b[^>]*method=[\"']?post[\"']?[^>]*>(.*?)</form>", re.S | re.I)


def templates(root: Path) -> Iterator[Path]:
    return (root / "templates").rglob("*.html")


def template_faults(root: Path) -> list[str]:
    """Unescaped output, anything inline that the content policy would stop, forms open to
    forgery. Mail keeps its style in the file: it is inlined on sending and meets no policy."""
    found = []
    for path in templates(root):
        text, name = path.read_text(), str(path.relative_to(root))
        for fault, pattern in INLINE.items():
            if fault == "inline style" and "email" in path.parts:
                continue
            found += [f"{name}: {fault}: {hit.group()[:60]!r}" for hit in pattern.finditer(text)]
        found += [
            f"{name}: a POST form without csrf_token"
            for form in POST_FORM.finditer(text)
            if "csrf_token" not in form.group(1)
        ]
    return found


def modules(root: Path) -> Iterator[Path]:
    return (p for p in (root / "portal").rglob("*.py") if "migrations" not in p.parts)


def signal_uses(root: Path) -> list[str]:
    """Signals by any road, `.connect(` on an imported one included."""
    return [
        f"{path.relative_to(root)}:{node.lineno}"
        for path in modules(root)
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.stmt) and _is_signal(node)
    ]


def _is_signal(node: ast.stmt) -> bool:
    if isinstance(node, ast.ImportFrom):
        origin = node.module or ""
        names = {alias.name for alias in node.names}
        return origin.endswith(("signals", "dispatch")) or bool(names & {"signals", "receiver"})
    if isinstance(node, ast.Import):
        return any(alias.name.endswith(("signals", "dispatch")) for alias in node.names)
    return False


def wordy_log_lines(root: Path) -> list[str]:
    """Calls of a module's log whose message is no fixed text, or has something to fill it with:
    the journal keeps the text as it stands and the keys that it knows."""
    return [
        f"{path.relative_to(root)}:{node.lineno}"
        for path in modules(root)
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and _is_log_call(node) and not _is_fixed(node)
    ]


def _is_log_call(call: ast.Call) -> bool:
    match call.func:
        case ast.Attribute(value=ast.Name(id=name), attr=level):
            return name.lower() in LOGS and level in LEVELS
    return False


def _is_fixed(call: ast.Call) -> bool:
    return (
        len(call.args) == 1
        and isinstance(call.args[0], ast.Constant)
        and "%" not in str(call.args[0].value)
        and all(keyword.arg in ("extra", "exc_info") for keyword in call.keywords)
    )


def unlabelled_drawers(root: Path) -> list[str]:
    return [str(p.relative_to(root)) for p in modules(root) if p.stem in DRAWERS]


def outgrown_rooms(root: Path, *, limit: int = 400) -> list[str]:
    """Files over the limit: the cure is another app or another verb, not a longer file."""
    places = [*modules(root), *(root / "static/js").rglob("*.js"), *(root / "tests").rglob("*.py")]
    return [
        f"{path.relative_to(root)}: {lines} lines"
        for path in places
        if (lines := len(path.read_text().splitlines())) > limit
    ]
