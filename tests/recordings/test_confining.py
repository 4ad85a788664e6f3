from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from portal.recordings.confining import FILE, Limits, TookTooLong, running

LIMITS = Limits(seconds=20, file_bytes=1000)
WORKER = """
import sys, time
from pathlib import Path
from portal.recordings.confining import Limits, running
words = "import os, time; print(os.getpid(), flush=True); time.sleep(60)"
limits = Limits(seconds=60, file_bytes=0)
with running([sys.executable, "-c", words], on=Path(sys.argv[1]), limits=limits) as child:
    for line in child.lines():
        print(line, flush=True)
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "film"
    path.write_text("forty pictures\n")
    return path


def python(words: str) -> list[str]:
    return [sys.executable, "-I", "-c", words, FILE]


def test_it_works(file: Path):
    words = "import os, sys; print(os.fdopen(int(sys.argv[1])).read(), dict(os.environ))"

    with running(python(words), on=file, limits=LIMITS) as child:
        said = list(child.lines())

    assert said[0] == "forty pictures"
    assert "SECRET" not in said[1]
    assert child.returncode() == 0


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("open(%(out)r, 'wb').write(bytes(5000))", signal.SIGXFSZ),
        ("import os; os.kill(os.getpid(), 9)", signal.SIGKILL),
    ],
)
def test_the_signal_that_ended_it_is_told(tmp_path: Path, file: Path, words: str, number: int):
    # Python itself ignores this signal, ffmpeg does not.
    program = "import signal; signal.signal(signal.SIGXFSZ, signal.SIG_DFL); " + words

    with running(python(program % {"out": str(tmp_path / "out")}), on=file, limits=LIMITS) as child:
        list(child.lines())

    assert child.returncode() == -number


def test_memory_is_short(file: Path):
    few = Limits(seconds=20, file_bytes=0, memory_bytes=200 * 1024**2)

    with running(python("bytes(300 * 1024**2)"), on=file, limits=few) as child:
        said = list(child.lines())

    assert said[-1] == "MemoryError"


def test_time_is_short(file: Path):
    with (
        pytest.raises(TookTooLong),
        running(
            python("import time; time.sleep(60)"), on=file, limits=Limits(seconds=0, file_bytes=0)
        ) as child,
    ):
        list(child.lines())

    assert child.returncode() == -signal.SIGKILL


def test_an_error_of_ours_ends_the_program(file: Path):
    with (
        pytest.raises(ZeroDivisionError),
        running(python("import time; time.sleep(60)"), on=file, limits=LIMITS) as child,
    ):
        _ = 1 / 0

    assert child.returncode() == -signal.SIGKILL


def test_the_program_dies_with_its_worker(file: Path):
    with subprocess.Popen(
        [sys.executable, "-c", WORKER, file], stdout=subprocess.PIPE, text=True
    ) as worker:
        assert worker.stdout
        number = int(worker.stdout.readline())
        assert is_running(number)

        worker.kill()
        worker.wait()

        assert ends(number)


def is_running(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    # What is dead and not yet collected still has a number.
    return "State:\tZ" not in Path(f"/proc/{number}/status").read_text()


def ends(number: int) -> bool:
    for _ in range(100):
        if not is_running(number):
            return True
        time.sleep(0.1)
    return False
