"""Work the summaries of all swimmers' items out of the observations anew."""

from __future__ import annotations

from django.core.management.base import BaseCommand, CommandParser

from portal.items import rebuilding


class Command(BaseCommand):
    help = "Put right the summaries of swimmers' items; nothing else is changed."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--check",
            action="store_true",
            help="Only say how many are wrong; the exit code is 1 if any is.",
        )

    def handle(self, *_args: object, check: bool, **_options: object) -> None:
        wrong = rebuilding.differences() if check else rebuilding.rebuild()
        self.stdout.write(f"{wrong} {'are wrong' if check else 'put right'}.")
        if check and wrong:
            raise SystemExit(1)
