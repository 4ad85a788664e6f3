from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from portal.jobs import kinds
from portal.jobs.working import Worker


class Command(BaseCommand):
    help = "Do the jobs that wait. Any number of workers may run; stop them with SIGTERM."
    # They load every page of the portal, and a worker shows none.
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--queues",
            default="default,media",
            help="Queues to work on, separated by commas; the first one's jobs go first.",
        )
        parser.add_argument("--once", action="store_true", help="End when nothing is due.")
        parser.add_argument(
            "--grace",
            type=float,
            default=25,
            help="Seconds that a running job has to finish when the worker is told to stop.",
        )
        parser.add_argument(
            "--parent", type=int, help="Stop when this process is no longer the worker's parent."
        )

    def handle(self, **options: Any) -> None:  # noqa: ANN401 - Django's signature
        worker = Worker(
            queues=_known(options["queues"]), grace=options["grace"], parent=options["parent"]
        )
        with worker.heeding_signals():
            if options["once"]:
                worker.drain()
            else:
                worker.work_on()


def _known(named: str) -> list[str]:
    queues = [name.strip() for name in named.split(",") if name.strip()]
    if not queues or not set(queues) <= set(kinds.queues()):
        raise CommandError(
            f"--queues {named!r} names a queue that no job waits in. "
            f"Use any of: {', '.join(kinds.queues())}."
        )
    return queues
