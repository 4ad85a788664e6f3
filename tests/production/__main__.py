"""`python -m tests.production [paths] [options of pytest]`: tests on PostgreSQL, Redis and Celery.

Without paths it runs what the engine can make a difference to: rows, jobs, files, mail; and the
tests in this folder, which run nowhere else. All servers are private and gone afterwards.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from contextlib import ExitStack

from tests.production.apart import OWN
from tests.servers import postgres, redis_server

PROCESSES = 2
BOTH_CORES = ["-n", str(PROCESSES), "--dist", "loadfile"]
PARTS = [
    "audit",
    "clubhouse",
    "digests/test_jobs.py",
    "digests/test_planning.py",
    "digests/test_send_digests.py",
    "doorway/test_account.py",
    "doorway/test_password_in.py",
    "doorway/test_sign_in.py",
    "doorway/test_strengthening.py",
    "items",
    "jobs/test_claiming.py",
    "jobs/test_journal.py",
    "jobs/test_planning.py",
    "jobs/test_queueing.py",
    "jobs/test_running.py",
    "jobs/test_serve.py::test_a_killed_supervisor_leaves_no_orphans",
    "jobs/test_serve.py::test_killed_parts_come_back",
    "mailroom",
    "notes/test_access.py",
    "notes/test_hiding.py",
    "notes/test_long_notes.py",
    "openness",
    "people",
    "poolside/test_lining.py",
    "progress",
    "recordings/test_cutting.py",
    "recordings/test_dropping.py",
    "recordings/test_film_pages.py",
    "recordings/test_jobs.py",
    "recordings/test_rooming.py",
    "recordings/test_session_page.py",
    "recordings/test_showing.py",
    "recordings/test_shut.py",
    "recordings/test_sorting_recut.py",
    "recordings/test_stage.py",
    "recordings/test_sweeping.py",
    "recordings/test_tus_lines.py",
    "recordings/test_tus_sweeping.py",
    "recordings/test_uploading.py",
    "reports/test_jobs.py",
    "review/test_bench.py",
    "review/test_commenting.py",
    "review/test_desk.py",
    "review/test_publish_page.py",
    "review/test_publishing.py",
    "review/test_telling.py",
    "roster/test_comparing.py",
    "roster/test_inviting.py",
    "roster/test_moving.py",
    "sight",
    "technique",
    "production",
    "browser/test_main_job.py",
]


def main(words: list[str]) -> int:
    with ExitStack() as stack:
        data = stack.enter_context(tempfile.TemporaryDirectory())
        database = stack.enter_context(postgres())
        first, second = (
            f"redis+socket://{stack.enter_context(redis_server())}" for _ in range(PROCESSES)
        )
        environment = {
            **os.environ,
            "FLAGLINE_DATA": data,
            "FLAGLINE_DATABASE": database,
            "FLAGLINE_REDIS": first,
            f"{OWN}gw0": first,
            f"{OWN}gw1": second,
        }
        has_paths = bool(words) and not words[0].startswith("-")
        paths = [] if has_paths else [*(f"tests/{part}" for part in PARTS), *BOTH_CORES]
        command = [sys.executable, "-m", "pytest", "-p", "tests.production.apart", *paths, *words]
        return subprocess.run(command, env=environment, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
