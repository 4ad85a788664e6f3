"""Jobs for tests. Each start is a line in `runs`, each effect a file that can be made once;
an effect that was there already is a line in `doubles`."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import connection

from portal.jobs import running
from portal.jobs.models import Job
from portal.recordings import confining
from portal.recordings.confining import Limits

SLEEP = shutil.which("sleep") or "/bin/sleep"


def effects() -> Path:
    folder = Path(settings.DATA_DIR) / "effects"
    folder.mkdir(exist_ok=True)
    return folder


def lines(name: str) -> list[str]:
    path = Path(settings.DATA_DIR) / name
    return path.read_text().splitlines() if path.exists() else []


def programs() -> list[int]:
    """The programs that were started for `confined` jobs and still run."""
    return [pid for pid in map(int, lines("programs")) if Path(f"/proc/{pid}").exists()]


def _add_line(name: str, line: str) -> None:
    """One write() with O_APPEND: whole lines, however many processes write."""
    flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT
    descriptor = os.open(Path(settings.DATA_DIR) / name, flags, 0o600)
    try:
        os.write(descriptor, f"{line}\n".encode())
    finally:
        os.close(descriptor)


def start(job: Job) -> None:
    _add_line("runs", job.key)


def leave_effect(job: Job) -> None:
    try:
        os.close(os.open(effects() / job.key, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        _add_line("doubles", job.key)


def once(job: Job, at: datetime) -> None:
    start(job)
    if connection.in_atomic_block:
        raise AssertionError("the job runs inside a transaction")
    leave_effect(job)


def patient(job: Job, at: datetime) -> None:
    """Ends when the test says so."""
    start(job)
    while not (Path(settings.DATA_DIR) / "go").exists():
        time.sleep(0.05)
    leave_effect(job)


def endless(job: Job, at: datetime) -> None:
    start(job)
    time.sleep(600)


def endless_at_first(job: Job, at: datetime) -> None:
    """The first attempt never ends by itself; a later one does at once."""
    start(job)
    if job.attempts == 1:
        time.sleep(600)
    leave_effect(job)


def program(job: Job, at: datetime) -> None:
    """Waits for a program, as for ffmpeg; leaving the block waits for it too."""
    with subprocess.Popen(["sleep", "600"]):
        start(job)


def confined(job: Job, at: datetime) -> None:
    """Waits for a program as film work does; see `programs`."""
    limits = Limits(seconds=600, file_bytes=0)
    with confining.running([SLEEP, "600"], on=Path(__file__), limits=limits) as program:
        _add_line("programs", str(program.process.pid))
        start(job)
        program.returncode()


def broken(job: Job, at: datetime) -> None:
    raise OSError("Ines Falk.mov is unreadable")


def hopeless(job: Job, at: datetime) -> None:
    raise running.Hopeless("This file is not a film.")


def reporting(job: Job, at: datetime) -> None:
    for done in range(1000):
        running.report(job, done / 1000)


def robbed(job: Job, at: datetime) -> None:
    """Somebody takes the job over in the midst of it."""
    Job.objects.filter(pk=job.pk).update(worker="somebody else", attempts=2)
    running.report(job, 0.5)
    leave_effect(job)


def robbed_silently(job: Job, at: datetime) -> None:
    Job.objects.filter(pk=job.pk).update(worker="somebody else", attempts=2)
