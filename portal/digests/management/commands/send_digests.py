"""`manage.py send_digests`: write and send the weekly mail by hand, or only say who gets what."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from portal.digests import planning, writing
from portal.digests.gathering import Edition
from portal.digests.timing import NoSuchWeek, Week
from portal.jobs import running
from portal.mailroom.composing import masked
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club


class Command(BaseCommand):
    help = (
        "Send the weekly mails that are due and have not been written. Each goes once, whoever "
        "else sends at the same time, and calling this again sends nothing twice."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--week",
            help="Such as 2026-W47: that week's mails, also when it is too late for them.",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="Only say who would get what; nothing is kept."
        )
        parser.add_argument(
            "--text", action="store_true", help="With --dry-run, in the demo: the mails' text."
        )

    def handle(
        self,
        *,
        week: str | None,
        dry_run: bool,
        text: bool,
        **_options: Any,  # noqa: ANN401
    ) -> None:
        if text and not (dry_run and settings.DEMO):
            raise CommandError(
                "--text shows what was said of children. It works in the demo, with --dry-run."
            )
        now = timezone.now()
        try:
            editions = _editions(week, at=now)
        except NoSuchWeek as error:
            raise CommandError(str(error)) from error
        if dry_run:
            self.rehearse(editions, at=now, with_text=text)
        else:
            self.send(editions, at=now)

    def rehearse(self, editions: Sequence[Edition], *, at: datetime, with_text: bool) -> None:
        mails = planning.rehearse(editions, at=at)
        for mail in mails:
            self.stdout.write(_line(mail))
            if with_text:
                self.stdout.write(mail.text)
        self.stdout.write(f"Would be sent: {len(mails)}. Nothing was kept.")

    def send(self, editions: Sequence[Edition], *, at: datetime) -> None:
        due = [edition for edition in editions if edition.due_at <= at]
        for edition in editions:
            if edition not in due:
                self.stdout.write(
                    f"{edition.club}: {edition.week} is due at {edition.due_at:%Y-%m-%d %H:%M} "
                    "UTC, and nothing of it is sent before."
                )
        mails = planning.deliver(due, at=at)
        for mail in mails:
            running.run_one(writing.enqueue(mail, at=at).code, worker="send_digests", at=at)
            mail.refresh_from_db()
            self.stdout.write(f"{_line(mail)}  {mail.get_state_display()}")
        sent = sum(mail.state == OutgoingMail.State.SENT for mail in mails)
        self.stdout.write(f"Written: {len(mails)}. Sent: {sent}.")
        if sent < len(mails):
            self.stdout.write("Those that are due are tried again by the worker.")


def _editions(week: str | None, *, at: datetime) -> list[Edition]:
    """Raises NoSuchWeek."""
    clubs = Club.objects.order_by("pk")
    if week is None:
        return [Edition(club, each) for club in clubs for each in planning.due_weeks(club, at=at)]
    named = Week.named(week)
    return [Edition(club, named) for club in clubs]


def _line(mail: OutgoingMail) -> str:
    """Nothing of what was said of a child: whoever runs the portal is not its reader."""
    sizes = f"text {len(mail.text.encode())} bytes, HTML {len(mail.html.encode())} bytes"
    return f"{masked(mail.address)}  {mail.subject}  {sizes}"
