"""HTML into PDF by WeasyPrint, which needs Pango: import this through `printing` only.

WeasyPrint fetches whatever a page names, files of the server and addresses of the inside net
included. Ours gets nothing but the stills handed in and the letters below, each by its key, and
anything else ends the printing: a sheet is whole or not at all, never with a hole in it.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from pathlib import Path

from django.contrib.staticfiles import finders
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

FONTS = [
    "literata-latin-wght-normal.woff2",
    "literata-latin-wght-italic.woff2",
    "literata-latin-ext-wght-normal.woff2",
    "pt-sans-latin-400-normal.woff2",
    "pt-sans-latin-700-normal.woff2",
    "pt-sans-latin-ext-400-normal.woff2",
    "pt-sans-latin-ext-700-normal.woff2",
]
# With a base that leads nowhere a relative address, too, comes to the fetcher and is refused;
# without one WeasyPrint would leave it out and say nothing.
NOWHERE = "sheet:"

# They tell of every table of every font, and of every step.
logging.getLogger("fontTools").setLevel(logging.WARNING)
logging.getLogger("weasyprint.progress").setLevel(logging.WARNING)


class Refused(Exception):
    """A page named something that is none of its own stills or letters."""


class OwnThings(URLFetcher):
    """`still:<key>` and `font:<file name>`, nothing else."""

    def __init__(self, stills: Mapping[str, Path]) -> None:
        super().__init__(allowed_protocols=(), allow_redirects=False, fail_on_errors=True)
        self._things = {f"still:{key}": (path, "image/jpeg") for key, path in stills.items()}
        self._things |= {f"font:{name}": (_static(f"fonts/{name}"), "font/woff2") for name in FONTS}

    def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> URLFetcherResponse:  # noqa: ARG002 - WeasyPrint's signature
        if url not in self._things:
            raise Refused(
                f"{url!r} is refused: a sheet may name its stills as still:KEY and its letters as "
                "font:NAME. Hand the still in, or add the letters to FONTS."
            )
        path, kind = self._things[url]
        return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": kind})


def press(html: str, *, stills: Mapping[str, Path], style: str) -> bytes:
    """A tagged PDF, built as PDF/UA-1. Raises Refused, and OSError for a still that is gone."""
    fetcher, letters = OwnThings(stills), FontConfiguration()
    sheet = CSS(
        string=_static(style).read_text(),
        base_url=NOWHERE,
        url_fetcher=fetcher,
        font_config=letters,
    )
    page = HTML(string=html, base_url=NOWHERE, url_fetcher=fetcher)
    try:
        pdf: bytes = page.write_pdf(
            stylesheets=[sheet], font_config=letters, pdf_variant="pdf/ua-1"
        )
    except FatalURLFetchingError as error:
        # It is no Exception, so that it would end the worker, not the job.
        raise error.__cause__ or Refused(str(error)) from error
    return pdf


def _static(name: str) -> Path:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(f"static/{name} is missing. Restore it from the source tree.")
    return Path(found)
