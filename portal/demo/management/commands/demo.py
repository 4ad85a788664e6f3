"""Build the demo club, or complete one that was cut off."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from portal.demo import building
from portal.demo.building import RealClub
from portal.demo.finishing import NotDone
from portal.people.models import User


class Command(BaseCommand):
    help = "Build the demo club with its drawn footage. Calling it again changes nothing."

    def handle(self, *_args: object, **_options: object) -> None:
        call_command("migrate", interactive=False, verbosity=0)
        try:
            with _fewer_lines():
                club = building.build(at=timezone.now(), say=self.say)
        except (RealClub, NotDone) as error:
            raise CommandError(str(error)) from error
        people = User.objects.count()
        self.say(f"{club.name} stands: {club.swimmers.count()} swimmers, {people} accounts.")

    def say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


@contextmanager
def _fewer_lines() -> Iterator[None]:
    """Each job and each mail has a line in the log, which is of no use here."""
    logger = logging.getLogger("portal")
    level = logger.level
    logger.setLevel(logging.WARNING)
    try:
        yield
    finally:
        logger.setLevel(level)
