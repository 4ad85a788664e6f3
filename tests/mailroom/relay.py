"""A real mail server on the loopback that can refuse, stall and hang up."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from django.test import override_settings


class Relay:
    """`at_recipient` and `after_dot` are replies to give instead of taking the message; with
    `hangs_up` it takes the message and breaks the line off before it says so; `stalls` are the
    seconds that it thinks about a message it has taken."""

    def __init__(self) -> None:
        self.taken: list[Envelope] = []
        self.at_recipient = ""
        self.after_dot = ""
        self.hangs_up = False
        self.stalls = 0.0

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: Any
    ) -> str:
        if self.at_recipient:
            return self.at_recipient.format(address=address)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        if self.after_dot:
            return self.after_dot
        self.taken.append(envelope)
        await asyncio.sleep(self.stalls)
        if self.hangs_up:
            server.transport.abort()
        return "250 OK"

    def message(self, number: int = 0) -> EmailMessage:
        content = self.taken[number].content
        assert isinstance(content, bytes)
        message = message_from_bytes(content, policy=policy.default)
        assert isinstance(message, EmailMessage)
        return message


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def relay() -> Iterator[Relay]:
    """The portal's mail goes there as long as the block runs."""
    handler = Relay()
    controller = Controller(handler, hostname="127.0.0.1", port=free_port())
    controller.start()
    try:
        with override_settings(
            EMAIL_BACKEND="portal.mailroom.relaying.RelayBackend",
            EMAIL_HOST="127.0.0.1",
            EMAIL_PORT=controller.port,
            EMAIL_TIMEOUT=5,
        ):
            yield handler
    finally:
        controller.stop()
