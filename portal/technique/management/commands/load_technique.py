"""Bring the squad's shared words up to date with the files."""

from __future__ import annotations

from django.core.management.base import BaseCommand, CommandError, CommandParser

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
            loaded = catalogue.rehearse() if check else catalogue.load()
        except BadCatalogue as error:
            raise CommandError(str(error)) from error
        if check:
            for change in loaded.changes:
                self.stdout.write(str(change))
            if loaded.changes:
                raise SystemExit(1)
        counts = ", ".join(f"{number} {what}" for what, number in loaded.counts.items())
        self.stdout.write(f"{loaded.entries} entries: {counts or 'nothing to change'}.")
