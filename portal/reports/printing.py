"""Printing, where the machine can: without Pango everything works but sheets in PDF."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from django.utils.translation import gettext as _

try:
    from portal.reports import pressing
except OSError:
    pressing = None  # type: ignore[assignment]

PACKAGES = "libpango-1.0-0 libpangoft2-1.0-0"


class CannotPrint(Exception):
    """This machine lacks what printing needs; the message is for people."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Sheets cannot be made on this machine: it has no Pango, which sets the letters."
                " Whoever runs the portal installs it with “apt-get install %(packages)s” and"
                " starts the portal again. Everything else works without it."
            )
            % {"packages": PACKAGES}
        )


def to_pdf(html: str, *, stills: Mapping[str, Path], style: str) -> bytes:
    """`stills` by their keys, `style` a file under static/. Raises CannotPrint."""
    if pressing is None:
        raise CannotPrint
    return pressing.press(html, stills=stills, style=style)
