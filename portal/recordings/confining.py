"""Running a program on a stranger's file: little memory, little time, nothing to open.

The program gets the file as an open descriptor and an empty environment. Between us and it
stands this same file as a small launcher: it limits itself, asks the kernel to be killed when
the worker dies, and turns into the program. It does so in a process of its own because code
between fork and exec of a process with threads may hang.
"""

from __future__ import annotations

import ctypes
import json
import os
import resource
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

GIB = 1024**3
# How often we look at the clock while a program says nothing.
LOOK_SECONDS = 1.0
PR_SET_PDEATHSIG = 1
OPEN_FILES = 64
NICE = 5
# Stands for the open file in the words of a program.
FILE = "{file}"


class TookTooLong(Exception):
    """The program was still running when its time was over."""

    def __init__(self, seconds: float) -> None:
        super().__init__(
            f"Stopped after {seconds:.0f} s. Is the file damaged, or the machine busy?"
        )


@dataclass(frozen=True)
class Limits:
    """`seconds` by the clock on the wall, and as much again for each of two processors."""

    seconds: int
    file_bytes: int
    memory_bytes: int = 3 * GIB


@dataclass(frozen=True)
class Program:
    process: subprocess.Popen[bytes]
    seconds: int

    def lines(self) -> Iterator[str]:
        """What it says, line by line. Raises TookTooLong."""
        pipe = self.process.stdout
        if pipe is None:
            raise ValueError("This program was started without a pipe. Start it with `running`.")
        ends = time.monotonic() + self.seconds
        rest = b""
        while True:
            if time.monotonic() > ends:
                raise TookTooLong(self.seconds)
            if not select.select([pipe], [], [], LOOK_SECONDS)[0]:
                continue
            block = os.read(pipe.fileno(), 65536)
            if not block:
                break
            *whole, rest = (rest + block).split(b"\n")
            yield from (line.decode(errors="replace") for line in whole)
        if rest:
            yield rest.decode(errors="replace")

    def returncode(self) -> int:
        """Waits for the end; below zero it is the number of the signal."""
        return self.process.wait()


@contextmanager
def running(program: Sequence[str], *, on: Path, limits: Limits) -> Iterator[Program]:
    """Start `program` with the file open as the descriptor that FILE stands for in it.

    However the block ends, the process is gone afterwards.
    """
    with on.open("rb") as file:
        number = str(file.fileno())
        orders = json.dumps({**asdict(limits), "parent": os.getpid()})
        words = [number if word == FILE else word for word in program]
        process = subprocess.Popen(  # noqa: S603 - a list, no shell, our own words
            [sys.executable, "-I", "-S", __file__, orders, *words],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            pass_fds=[file.fileno()],
            env={},
        )
    with process:
        try:
            yield Program(process, limits.seconds)
        finally:
            process.kill()


def _confine(orders: dict[str, int]) -> None:
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != orders["parent"]:
        sys.exit("The worker is gone.")
    for kind, most in [
        (resource.RLIMIT_AS, orders["memory_bytes"]),
        (resource.RLIMIT_CPU, orders["seconds"] * 2),
        (resource.RLIMIT_FSIZE, orders["file_bytes"]),
        (resource.RLIMIT_NOFILE, OPEN_FILES),
        (resource.RLIMIT_CORE, 0),
    ]:
        resource.setrlimit(kind, (most, most))
    os.nice(NICE)
    # Python ignores these, and what it ignores the program would ignore as well.
    for number in (signal.SIGXFSZ, signal.SIGPIPE):
        signal.signal(number, signal.SIG_DFL)


def _become(program: Sequence[str]) -> None:
    os.execve(program[0], list(program), {})  # noqa: S606 - see the top of the file


if __name__ == "__main__":
    _confine(json.loads(sys.argv[1]))
    _become(sys.argv[2:])
