"""`manage.py probe_media FILE`: what a film is, as JSON; an error if it is none."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from portal.recordings import probing


class Command(BaseCommand):
    help = "Print what a film is. Nothing is stored."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *_args: Any, file: Path, **_options: Any) -> None:  # noqa: ANN401
        try:
            facts = probing.probe(file)
        except (probing.Unusable, OSError) as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(json.dumps(facts.as_json(), indent=2))
