"""`manage.py take_bounce < message`: for the mailbox to which mail comes back."""

from __future__ import annotations

import sys

from django.core.management.base import BaseCommand
from django.utils import timezone

from portal.mailroom import bouncing


class Command(BaseCommand):
    help = "Reads one message from the standard input: a report of mail that came back."

    def handle(self, *_args: object, **_options: object) -> None:
        outcome = bouncing.take(sys.stdin.buffer.read(), at=timezone.now())
        self.stdout.write(outcome.value)
