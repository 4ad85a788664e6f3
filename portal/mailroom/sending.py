"""One row, one message, at most once.

The claim stands in the database before the mail server hears of the message. What the server
refused may be tried again; what it may have taken is never sent a second time by itself, since
a mail too few is healed by signing in and a mail too many about a child is not.
"""

from __future__ import annotations

import logging
import smtplib
from datetime import datetime

from django.core.mail import get_connection
from django.db import transaction
from django.utils.encoding import force_bytes
from django.utils.translation import gettext as _

from portal.mailroom import refusing
from portal.mailroom.composing import masked, message
from portal.mailroom.models import OutgoingMail
from portal.mailroom.relaying import Unanswered
from portal.mailroom.skipping import skip

State = OutgoingMail.State
LOGGER = logging.getLogger(__name__)


class NotSent(Exception):
    """The server did not take it this time. The message is for people."""


class Undeliverable(Exception):
    """It will not be tried again by itself. The message is for people."""


def send(mail: OutgoingMail, *, at: datetime) -> None:
    """Nothing happens to a mail that is not due: somebody sends it, or it has an end. One to an
    address from which mail came back is skipped.

    Raises NotSent (it is due again), or Undeliverable (refused for good, or nobody knows).
    """
    if mail.is_too_late(at):
        forget(mail)
        raise Undeliverable(_("It could not be sent in time, and what it says works no longer."))
    if refusal := refusing.keeps_from(mail):
        said = _("Mail came back from this address: %(said)s") % {"said": refusal.said}
        skip(OutgoingMail.objects.filter(pk=mail.pk), why=said)
        return
    with transaction.atomic(durable=True):
        due = OutgoingMail.objects.filter(pk=mail.pk, state=State.DUE)
        if not due.update(state=State.SENDING):
            return
    # The errors below are cut off from what caused them: smtplib quotes the whole address.
    try:
        get_connection().send_messages([message(mail)])
    except Unanswered as error:
        _end(mail, State.UNKNOWN, _said(error, mail))
        raise Undeliverable(
            _("The line broke off after the message went out. It may have arrived or not.")
        ) from None
    except OSError as error:
        said = _said(error, mail)
        if _is_for_good(error):
            _end(mail, State.FAILED, said)
            if refusing.FOR_GOOD.search(said):
                refusing.refuse(mail, said, at=at)
            raise Undeliverable(
                _("The mail server refuses %(address)s: %(said)s")
                % {"address": masked(mail.address), "said": said}
            ) from None
        _end(mail, State.DUE, said)
        raise NotSent(_("The mail server did not take it: %(said)s") % {"said": said}) from None
    _end(mail, State.SENT, "", sent_at=at)
    refusing.try_again(mail.address)


def doubt(mail: OutgoingMail) -> bool:
    """Whoever was sending it is gone, so whether it arrived is unknown. False: nobody was."""
    interrupted = OutgoingMail.objects.filter(pk=mail.pk, state=State.SENDING)
    said = "interrupted while it was sent"
    if not interrupted.update(state=State.UNKNOWN, last_error=said):
        return False
    forget(mail)
    return True


def forget(mail: OutgoingMail) -> None:
    """Nobody will send it any more: what opens the door lies about no longer than it has to."""
    if mail.holds_a_secret:
        mine = OutgoingMail.objects.filter(pk=mail.pk)
        mine.filter(state=State.DUE).update(state=State.FAILED)
        mine.update(text="", html="")


def _end(
    mail: OutgoingMail, state: OutgoingMail.State, said: str, *, sent_at: datetime | None = None
) -> None:
    """A sender who was thought gone still knows best how it ended, but no job waits for a
    mail that is due again, so that word comes too late."""
    before = [State.SENDING] if state == State.DUE else [State.SENDING, State.UNKNOWN]
    mine = OutgoingMail.objects.filter(pk=mail.pk, state__in=before)
    mine.update(state=state, last_error=said, sent_at=sent_at)
    if state != State.DUE:
        forget(mail)
    LOGGER.info("mail ended", extra={"mail": mail.code, "state": state.value})


def _answer(error: OSError) -> tuple[int, str]:
    """The server's code, 0 if it gave none, and its words."""
    code, words = 0, str(error).encode()
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, words = next(iter(error.recipients.values()))
    elif isinstance(error, smtplib.SMTPResponseException):
        code, words = error.smtp_code, force_bytes(error.smtp_error)
    return code, words.decode(errors="replace")


def _said(error: OSError, mail: OutgoingMail) -> str:
    code, words = _answer(error)
    return f"{code or ''} {words.replace(mail.address, masked(mail.address))}".strip()


def _is_for_good(error: OSError) -> bool:
    """A refused recipient or content; a refused sender is our fault and can be mended."""
    final = isinstance(error, smtplib.SMTPRecipientsRefused | smtplib.SMTPDataError)
    return final and _answer(error)[0] >= 500
