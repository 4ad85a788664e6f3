"""Mails of the door: codes, and word of what was changed about somebody's way in."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from copy import copy
from datetime import datetime

from django.db import transaction
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.people import confiding
from portal.people.access import actor_for
from portal.people.models import User

Kind = OutgoingMail.Kind

# By the name that allauth, or our own page, has for the change.
CHANGES: dict[str, str | Promise] = {
    "mfa/email/webauthn_added": _("A passkey was added."),
    "mfa/email/webauthn_removed": _("A passkey was removed."),
    "mfa/email/totp_activated": _("A code app was set up as second step."),
    "mfa/email/totp_deactivated": _("The code app was removed as second step."),
    "mfa/email/recovery_codes_generated": _("New recovery codes were made."),
    "password": _("A password was set."),
    "address": _("The account got another address; this one no longer opens it."),
    "factors forgotten": _(
        "Your passkeys, your code app and your recovery codes were removed by whoever runs the"
        " portal, and you were signed out everywhere."
    ),
}


def send_code(user: User, *, code: str, at: datetime) -> None:
    """With the addresses, and no link, of those to whom a concern is told."""
    actor = actor_for(user, at=at)
    context = {"code": code, "officers": confiding.officers_for(actor, on=at.date())}
    _post(user, kind=Kind.CODE, template="code", context=context, at=at)


def rehearse_code(email: str, *, at: datetime) -> None:
    """All the work of `send_code` for nobody: in the end nothing has been written."""
    nobody = User(pk=0, email=email)
    with transaction.atomic():
        send_code(nobody, code="XXXX-XXXX", at=at)
        transaction.set_rollback(True)


def send_to_new_address(user: User, email: str, *, code: str, at: datetime, is_free: bool) -> None:
    """If somebody has that address, all the work is done and taken back."""
    there = copy(user)
    there.email = email
    with transaction.atomic():
        _post(there, kind=Kind.CODE, template="new_address", context={"code": code}, at=at)
        transaction.set_rollback(not is_free)


def tell_of_change(user: User, change: str, *, at: datetime) -> None:
    """To the address that the account has; what allauth says beyond our list is not told."""
    if change in CHANGES:
        said = {"change": CHANGES[change], "at": at}
        _post(user, kind=Kind.SECURITY, template="security", context=said, at=at)


def _post(
    user: User,
    *,
    kind: OutgoingMail.Kind,
    template: str,
    context: Mapping[str, object],
    at: datetime,
) -> None:
    mail = post(
        user,
        club=None,
        kind=kind,
        key=f"{kind}:{uuid.uuid4()}",
        template=template,
        context=context,
        at=at,
    )
    if mail is None:
        raise RuntimeError("A key made by chance was there already.")
    dispatch(mail, at=at)
