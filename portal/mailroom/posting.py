"""Putting a mail into the outbox: written now, sent by a job, and never twice for one key."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import css_inline
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string

from portal.mailroom import stopping
from portal.mailroom.composing import one_line
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club, User

SUBJECT_LENGTH = 59
LINE_LENGTH = 72
# Large web mailers cut a message off at about 102 KB and hide the rest behind a link.
HTML_BYTES = 90_000

# The rules that cannot stand on an element (night colours, small screens) stay in the head.
_inliner = css_inline.CSSInliner(keep_at_rules=True, load_remote_stylesheets=False)


def post(
    recipient: User,
    *,
    club: Club | None,
    kind: OutgoingMail.Kind,
    key: str,
    template: str,
    context: Mapping[str, Any],
    at: datetime,
) -> OutgoingMail | None:
    """Render `email/<template>/` for one person; None if the key has been posted before.

    Whoever posts also hands it to `dispatching`.
    """
    if OutgoingMail.objects.filter(key=key).exists():
        return None
    mail = draft(
        recipient, club=club, kind=kind, key=key, template=template, context=context, at=at
    )
    try:
        with transaction.atomic():
            mail.save(force_insert=True)
    except IntegrityError:
        # Somebody else posted it since we looked; any other clash is a mistake of ours.
        if OutgoingMail.objects.filter(key=key).exists():
            return None
        raise
    return mail


def draft(
    recipient: User,
    *,
    club: Club | None,
    kind: OutgoingMail.Kind,
    key: str,
    template: str,
    context: Mapping[str, Any],
    at: datetime,
) -> OutgoingMail:
    """The mail as it would be posted; nothing is kept."""
    words = {
        **context,
        "club": club,
        "recipient": recipient,
        "stop_address": stopping.address(recipient, kind),
    }
    return OutgoingMail(
        club=club,
        recipient=recipient,
        address=recipient.email,
        kind=kind,
        key=key,
        subject=_subject(template, words),
        text=wrapped(render_to_string(f"email/{template}/body.txt", words)),
        html=_html(template, words),
        created_at=at,
    )


def _subject(template: str, words: Mapping[str, Any]) -> str:
    subject = one_line(render_to_string(f"email/{template}/subject.txt", words))
    return textwrap.shorten(subject, SUBJECT_LENGTH, placeholder="...")


def _html(template: str, words: Mapping[str, Any]) -> str:
    """Rather no HTML part than one that is cut off on its way: the text part has it all."""
    html = _inliner.inline(render_to_string(f"email/{template}/body.html", words))
    return html if len(html.encode()) <= HTML_BYTES else ""


def wrapped(text: str) -> str:
    """Lines of at most 72 characters, continued under the line's own indent.

    An address of a page is never broken: half of it would lead nowhere.
    """
    lines = [_fold(line.rstrip()) for line in text.strip().splitlines()]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)) + "\n"


def _fold(line: str) -> str:
    if len(line) <= LINE_LENGTH or re.fullmatch(r"\s*https?://\S+", line):
        return line
    indent = line[: len(line) - len(line.lstrip())]
    return textwrap.fill(
        line.strip(),
        LINE_LENGTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_on_hyphens=False,
    )
