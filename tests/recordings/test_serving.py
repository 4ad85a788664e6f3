from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import SuspiciousFileOperation
from django.http import Http404, HttpResponseBase
from django.test import RequestFactory

from portal.recordings.serving import BLOCK, send

WHOLE = bytes(number % 251 for number in range(300_000))
ETAG = "5f2c"


@pytest.fixture
def film(settings, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path
    path = tmp_path / "copy.mp4"
    path.write_bytes(WHOLE)
    return path


def ask(path: Path, method: str = "GET", **headers: str) -> HttpResponseBase:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    request = RequestFactory().generic(method, "/copies/x/film.mp4", headers=named)
    name = path.relative_to(settings.MEDIA_ROOT).as_posix()
    return send(request, name, content_type="video/mp4", etag=ETAG)


def body(response: HttpResponseBase) -> bytes:
    return b"".join(response)


def test_it_works(film: Path):
    response = ask(film)

    assert response.status_code == 200
    assert response.headers["Content-Type"] == "video/mp4"
    assert response.headers["Content-Length"] == "300000"
    assert response.headers["ETag"] == '"5f2c"'
    assert response.headers["Accept-Ranges"] == "bytes"
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert response.headers["Content-Disposition"] == "inline"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert response.headers["Vary"] == "Cookie"
    assert body(response) == WHOLE


@pytest.mark.parametrize(
    ("asked", "first", "last"),
    [
        ("bytes=0-0", 0, 0),
        ("bytes=0-1", 0, 1),
        ("bytes=100-199", 100, 199),
        ("bytes=-500", 299_500, 299_999),
        ("bytes=-300000", 0, 299_999),
        ("bytes=-99999999", 0, 299_999),
        ("bytes=299999-", 299_999, 299_999),
        ("bytes=131000-", 131_000, 299_999),
        ("bytes=0-99999999", 0, 299_999),
    ],
)
def test_a_part_of_it(film: Path, asked: str, first: int, last: int):
    response = ask(film, Range=asked)

    assert response.status_code == 206
    assert response.headers["Content-Range"] == f"bytes {first}-{last}/300000"
    assert response.headers["Content-Length"] == str(last - first + 1)
    assert body(response) == WHOLE[first : last + 1]


@pytest.mark.parametrize("asked", ["bytes=300000-", "bytes=-0"])
def test_a_part_beyond_its_end(film: Path, asked: str):
    response = ask(film, Range=asked)

    assert response.status_code == 416
    assert response.headers["Content-Range"] == "bytes */300000"
    assert response.headers["Accept-Ranges"] == "bytes"


@pytest.mark.parametrize("asked", ["items=0-5", "bytes=5-2", "bytes=0-0,5-9", "bytes=x"])
def test_a_range_it_does_not_know_is_ignored(film: Path, asked: str):
    response = ask(film, Range=asked)

    assert response.status_code == 200
    assert body(response) == WHOLE


@pytest.mark.parametrize(
    ("condition", "status"),
    [
        ('"5f2c"', 206),
        ('"other"', 200),
        # Weak tags and dates promise less than the same bytes.
        ('W/"5f2c"', 200),
        ("Wed, 21 Oct 2026 07:28:00 GMT", 200),
    ],
)
def test_a_part_only_of_the_very_same_film(film: Path, condition: str, status: int):
    response = ask(film, Range="bytes=0-9", If_Range=condition)

    assert response.status_code == status


@pytest.mark.parametrize("held", ['"5f2c"', 'W/"5f2c"', '"other", "5f2c"', "*"])
def test_what_the_browser_holds_is_not_sent_again(film: Path, held: str):
    response = ask(film, If_None_Match=held, Range="bytes=0-9")

    assert response.status_code == 304
    assert response.headers["ETag"] == '"5f2c"'
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert body(response) == b""


def test_what_the_browser_holds_is_another(film: Path):
    assert ask(film, If_None_Match='"other"').status_code == 200


@pytest.mark.parametrize(
    ("wanted", "status"), [('"5f2c"', 206), ("*", 206), ('"other"', 412), ('W/"5f2c"', 412)]
)
def test_only_what_the_browser_began_with(film: Path, wanted: str, status: int):
    response = ask(film, If_Match=wanted, If_None_Match='"other"', Range="bytes=0-9")

    assert response.status_code == status
    assert len(body(response)) == (10 if status == 206 else 0)


def test_head_tells_of_the_whole_and_sends_nothing(film: Path):
    response = ask(film, "HEAD", Range="bytes=0-9")

    assert response.status_code == 200
    assert response.headers["Content-Length"] == "300000"
    assert body(response) == b""


def test_it_is_read_in_small_blocks(film: Path):
    assert max(len(block) for block in ask(film)) == BLOCK


def test_whoever_stops_in_the_midst_leaves_nothing_open(db, film: Path):
    response = ask(film)
    next(iter(response))

    response.close()

    assert list(response) == []


def test_a_picture_without_a_tag_gets_one_that_changes_with_it(film: Path):
    def tag() -> str:
        request = RequestFactory().get("/")
        return send(request, film.name, content_type="image/jpeg").headers["ETag"]

    before = tag()
    assert tag() == before

    film.write_bytes(b"other")

    assert tag() != before
    assert not before.startswith("W/")


def test_an_empty_file_has_no_part(film: Path):
    film.write_bytes(b"")

    assert ask(film, Range="bytes=0-").status_code == 416
    assert body(ask(film)) == b""


def test_a_file_that_is_gone(film: Path):
    film.unlink()

    with pytest.raises(Http404):
        ask(film)


@pytest.fixture
def behind_nginx(settings, tmp_path: Path) -> None:
    settings.XACCEL = "/protected"


def test_nginx_is_told_what_to_send_and_how(behind_nginx, film: Path):
    response = ask(film, Range="bytes=5-9")

    assert response.status_code == 200
    assert response.headers["X-Accel-Redirect"] == "/protected/copy.mp4"
    assert body(response) == b""
    assert response.headers["Content-Type"] == "video/mp4"
    assert response.headers["ETag"] == '"5f2c"'
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert not {"Content-Length", "Content-Range", "Accept-Ranges"} & set(response.headers)


def test_nginx_gets_a_name_that_it_can_read(behind_nginx, film: Path):
    path = film.parent / "copies" / "50% é?.mp4"
    path.parent.mkdir()
    path.write_bytes(WHOLE)

    assert ask(path).headers["X-Accel-Redirect"] == "/protected/copies/50%25%20%C3%A9%3F.mp4"


def test_nginx_is_not_troubled_with_what_the_browser_holds(behind_nginx, film: Path):
    response = ask(film, If_None_Match='"5f2c"')

    assert response.status_code == 304
    assert "X-Accel-Redirect" not in response.headers


@pytest.mark.parametrize("name", ["../secret.mp4", "/etc/passwd"])
def test_nothing_outside_is_handed_on(behind_nginx, film: Path, name: str):
    with pytest.raises(SuspiciousFileOperation):
        send(RequestFactory().get("/"), name, content_type="video/mp4", etag=ETAG)


@pytest.mark.parametrize("xaccel", ["", "/protected/"])
def test_whoever_asks_cannot_name_the_file(settings, xaccel: str, film: Path, tmp_path: Path):
    settings.XACCEL = xaccel
    (tmp_path / "secret.mp4").write_bytes(b"secret")

    response = ask(film, X_Accel_Redirect="/protected/secret.mp4", X_Sendfile="secret.mp4")

    assert "secret" not in str(response.headers)
    assert body(response) == (b"" if xaccel else WHOLE)
