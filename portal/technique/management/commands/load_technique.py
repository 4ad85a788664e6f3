"""Bring the squad's shared words up to date with the files."""

from __future__ import annotations

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, ProgrammingError
from django.utils import timezone

from portal.technique import catalogue
from portal.technique.reading import BadCatalogue


class Command(BaseCommand):
    help = "Load checkpoints, faults, drills, rules and cautions from portal/technique/data."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--check",
            action="store_true",
            help="Only print what would change; the exit code is 1 if anything would.",
        )

    def handle(self, *_args: object, check: bool, **_options: object) -> None:
        try:
            loaded = catalogue.rehearse() if check else catalogue.load(at=timezone.now())
        except BadCatalogue as error:
            raise CommandError(str(error)) from error
        except (OperationalError, ProgrammingError) as error:
            raise CommandError(
                "The database has no tables yet. Start the portal once with manage.py serve, or "
                "call manage.py migrate."
            ) from error
        for change in loaded.changes if check else ():
            self.stdout.write(str(change))
        stands = ", ".join(f"{count} {table}" for table, count in loaded.entries.items())
        counts = ", ".join(f"{number} {what}" for what, number in loaded.counts.items())
        self.stdout.write(f"{stands}: {counts or 'nothing to change'}.")
        if check and loaded.changes:
            raise SystemExit(1)
