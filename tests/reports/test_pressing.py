"""What WeasyPrint makes of our signs and letters, and what it is not given."""

from __future__ import annotations

import http.server
import re
import threading
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from django.template.loader import render_to_string
from PIL import Image
from weasyprint import HTML

from portal.kit.signs import PAINT, Sign
from portal.reports import pressing
from tests.reports.paper import POINTS_A_MM, SCALE, inside, opened

STYLE = "css/sheet.css"
SIDE = 24
"""Millimetres: one for each unit of a sign's box."""


def press(body: str, **stills: Path) -> bytes:
    page = f'<html lang="en"><title>Sheet</title><body>{body}</body></html>'
    return pressing.press(page, stills=stills, style=STYLE)


@pytest.fixture
def still(tmp_path: Path) -> Path:
    path = tmp_path / "still.jpg"
    Image.new("RGB", (96, 54), (20, 160, 90)).save(path, quality=95)
    return path


def test_it_works(still: Path, caplog: pytest.LogCaptureFixture):
    pdf = press('<h1>Zoë Łukasz Dunăreanu</h1><p><img src="still:one" alt="A still">', one=still)

    with opened(pdf) as paper:
        assert paper.words.startswith("Zoë Łukasz Dunăreanu")
        [(left, bottom, right, top)] = paper.boxes()
        shown = paper.colour((left + right) / 2, (bottom + top) / 2)
    assert np.abs(np.subtract(shown, (20, 160, 90))).max() < 12, "the still itself, not a blank"
    assert [record.message for record in caplog.records] == []


def test_our_own_letters_are_in_the_file():
    pdf = press("<h1>Quay Street, Łódź</h1><p>Łódź <b>bold ő</b>")

    families = set(re.findall(rb"/BaseFont\s*/[A-Z]+\+([A-Za-z]+-?[A-Z]?[a-z]*)", inside(pdf)))
    assert {name.split(b"-")[0] for name in families} == {b"Literata", b"PT"}


@pytest.fixture
def listener() -> Iterator[tuple[str, list[str]]]:
    """A server that must hear nothing."""
    heard: list[str] = []

    class Ear(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            heard.append(self.path)
            self.send_error(404)

        def log_message(self, *_args: object) -> None:
            """Not into the tests' output."""

    with http.server.HTTPServer(("127.0.0.1", 0), Ear) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/x", heard
        server.shutdown()


FOREIGN = [
    "file:///etc/passwd",
    "/etc/passwd",
    "../../../../etc/passwd",
    "still.jpg",
    "//127.0.0.1/x",
    "http://127.0.0.1/x",
    "data:image/png;base64,iVBORw0KGgo=",
    "ftp://127.0.0.1/x",
    "still:another",
    "still:one/../two",
    "STILL:one",
    "font:../../manage.py",
    "font:secret.woff2",
    "",
]
DOORS = [
    '<img src="{}" alt="x">',
    '<link rel="stylesheet" href="{}">',
    '<link rel="attachment" href="{}">',
    "<style>@import url('{}');</style>",
    "<p style=\"background: url('{}')\">x",
    "<style>@font-face {{ font-family: F; src: url('{}') }}</style><p style='font: 9pt F'>x",
    '<object data="{}"></object>',
    '<embed src="{}">',
    '<svg width="9" height="9"><image href="{}" width="9" height="9"/></svg>',
    '<a rel="attachment" href="{}">x</a>',
]


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("address", ["file:///etc/passwd", "http"])
def test_nothing_else_gets_in(door: str, address: str, listener):
    """Refused aloud, or never asked for; in no case in the file."""
    url, heard = listener
    markup = door.format(url if address == "http" else address)

    try:
        pdf = press(markup)
    except pressing.Refused:
        pdf = b""

    assert heard == []
    laid_open = inside(pdf)
    assert b"/EmbeddedFile" not in laid_open
    assert b"root:" not in laid_open
    if pdf:
        with opened(pdf) as paper:
            assert paper.boxes() == []


def test_the_test_would_see_what_got_in(tmp_path: Path):
    """With WeasyPrint's own fetcher the same markup does carry the file off."""
    secret = tmp_path / "passwd"
    secret.write_text("root:x:0:0")
    markup = f'<html lang="en"><link rel="attachment" href="{secret.as_uri()}">x'

    laid_open = inside(HTML(string=markup).write_pdf())

    assert b"/EmbeddedFile" in laid_open
    assert b"root:" in laid_open


@pytest.mark.parametrize("address", FOREIGN)
def test_the_fetcher_gives_only_what_it_was_handed(address: str, still: Path):
    fetcher = pressing.OwnThings({"one": still})
    assert fetcher.fetch("still:one").read() == still.read_bytes()

    with pytest.raises(pressing.Refused, match="is refused"):
        fetcher.fetch(address)


@pytest.mark.parametrize("address", ["../../../../etc/passwd", "still:another"])
def test_a_foreign_picture_is_refused_aloud(address: str, still: Path):
    with pytest.raises(pressing.Refused, match="is refused"):
        press(f'<img src="{address}" alt="x">', one=still)


def test_one_of_ours_that_is_gone_is_no_blank(tmp_path: Path):
    with pytest.raises(FileNotFoundError):
        press('<img src="still:one" alt="x">', one=tmp_path / "gone.jpg")


@pytest.fixture(scope="module")
def drawn() -> dict[Sign, np.ndarray]:
    """Each sign as it comes out of the PDF, in RGB, on its box of 24 x 24 mm."""
    body = "".join(
        f'<div style="position: absolute; left: {n % 4 * 30}mm; top: {n // 4 * 30}mm">'
        + render_to_string("reports/_sign.html", {"name": sign, "word": sign, "size": "24mm"})
        + "</div>"
        for n, sign in enumerate(Sign)
    )
    with opened(press(body)) as paper:
        pixels = paper.pixels()
    millimetre = POINTS_A_MM * SCALE
    found = {}
    for n, sign in enumerate(Sign):
        left, top = round((15 + n % 4 * 30) * millimetre), round((12 + n // 4 * 30) * millimetre)
        size = round(SIDE * millimetre)
        found[sign] = pixels[top : top + size, left : left + size]
    return found


def at(picture: np.ndarray, x: float, y: float) -> str:
    """The colour at a point of the sign's box of 24 x 24."""
    size = picture.shape[0]
    red, green, blue = picture[round(y * size / 24), round(x * size / 24)]
    return f"#{red:02x}{green:02x}{blue:02x}"


WHITE = "#ffffff"


def test_the_signs_are_themselves_in_the_pdf(drawn: dict[Sign, np.ndarray]):
    """A ring that prints as a disc would turn praise into a fault."""
    assert at(drawn[Sign.GOOD], 12, 12) == WHITE, "the ring is hollow"
    assert at(drawn[Sign.GOOD], 4, 12) == PAINT["good"]
    assert at(drawn[Sign.BOTH], 8, 12) == PAINT["work"]
    assert at(drawn[Sign.BOTH], 15, 12) == WHITE, "only the left half is filled"
    assert at(drawn[Sign.BOTH], 20.4, 12) == PAINT["work"]
    assert at(drawn[Sign.WORK_ON], 12, 12) == PAINT["work"]
    assert at(drawn[Sign.NOT_LEGAL], 12, 3) == PAINT["legal"]
    assert at(drawn[Sign.NOT_LEGAL], 12, 12) == PAINT["legal-bar"]
    assert at(drawn[Sign.NOT_LOOKED_AT], 12, 12) == PAINT["quiet"]
    assert at(drawn[Sign.NOT_LOOKED_AT], 12, 5) == WHITE
    assert at(drawn[Sign.GAP], 12, 2) == PAINT["quiet"]
    assert at(drawn[Sign.GAP], 12, 6) == WHITE, "the upright is dashed"


def test_the_signs_differ_in_grey_print(drawn: dict[Sign, np.ndarray]):
    grey = {sign: picture.mean(axis=2) for sign, picture in drawn.items()}
    for one in Sign:
        for other in Sign:
            if one < other:
                assert np.abs(grey[one] - grey[other]).mean() > 8, (one, other)


def test_the_pdf_is_tagged(still: Path):
    pdf = press('<h1>Sheet</h1><img src="still:one" alt="Heels close">', one=still)

    laid_open = inside(pdf)
    assert b"/Marked true" in laid_open
    assert b"pdfuaid:part" in laid_open
    assert b"/Alt (Heels close)" in laid_open
    assert b"/Lang (en)" in laid_open
