"""Somebody lost their phone and their recovery codes: let them begin anew with a code by mail."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from portal.doorway import forgetting
from portal.people.models import User


class Command(BaseCommand):
    help = (
        "Remove all passkeys, the code app and the recovery codes of one account and end its "
        "sessions. Be sure of who asks: speak to them, and not by mail."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address", help="The e-mail address of the account.")

    def handle(self, *, address: str, **_options: Any) -> None:  # noqa: ANN401
        user = User.objects.filter(email=address.strip().lower()).first()
        if user is None:
            raise CommandError(f"Nobody has the address {address!r} here. Nothing was changed.")
        try:
            count = forgetting.forget_factors(user, at=timezone.now())
        except forgetting.NothingToForget as error:
            raise CommandError(
                f"{user.email} has neither a passkey nor a code app. A code by mail is enough to"
                f" sign in at {settings.PUBLIC_ADDRESS}/sign-in/. Nothing was changed."
            ) from error
        self.stdout.write(
            f"Removed: {count}, and the recovery codes. {user.email} is signed out everywhere and"
            " is told by mail. Now a code by mail opens the account, and staff set up a second"
            " factor before anything else."
        )
