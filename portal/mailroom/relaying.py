"""The line to the mail server, which knows whether the server may have the message already."""

from __future__ import annotations

import smtplib
from typing import TYPE_CHECKING

from django.core.mail.backends.smtp import EmailBackend

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

# A server may take minutes to store a message; hanging up early is what makes duplicates.
SECONDS_AFTER_DOT = 600
DOT = b"\r\n.\r\n"


class Unanswered(smtplib.SMTPException):
    """The whole message went out and no answer came: it may or may not have been taken."""


class Line(smtplib.SMTP):
    is_out = False

    def send(self, s: ReadableBuffer | str) -> None:
        """The dot is the last of what is sent: an error in here means that it did not leave."""
        super().send(s)
        if isinstance(s, bytes) and s.endswith(DOT):
            self.is_out = True
            self._wait_at_most(SECONDS_AFTER_DOT)

    def data(self, msg: ReadableBuffer | str) -> tuple[int, bytes]:
        self.is_out = False
        try:
            answer = super().data(msg)
        except OSError as error:
            if not self.is_out:
                raise
            self.close()
            raise Unanswered(str(error)) from error
        self._wait_at_most(self.timeout)
        return answer

    def _wait_at_most(self, seconds: float) -> None:
        if self.sock:
            self.sock.settimeout(seconds)


class RelayBackend(EmailBackend):
    """Django's own, over such a line."""

    connection_class = Line
