"""A browser without a window, which trusts the certificate of one portal."""

from __future__ import annotations

import re
import ssl
import urllib.request
from dataclasses import dataclass, field
from http.client import HTTPResponse, HTTPSConnection
from http.cookiejar import CookieJar
from urllib.error import HTTPError
from urllib.parse import urlencode

from tests.factors import app_code

PASSWORD = "paper boats in the gutter"


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_words) -> None:
        return None


@dataclass
class Visitor:
    """A browser without a window: cookies, and the certificate of this portal."""

    address: str
    certificate: str
    cookies: CookieJar = field(default_factory=CookieJar)

    def ask(self, path: str, *, data: bytes | None = None, method: str = "", **headers: str):
        """The answer and its body. Names of headers are written with _ for -."""
        context = ssl.create_default_context(cafile=self.certificate)
        opener = urllib.request.build_opener(
            urllib.request.HTTPSHandler(context=context),
            urllib.request.HTTPCookieProcessor(self.cookies),
            NoRedirect,
        )
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        request = urllib.request.Request(self.address + path, data, named)  # noqa: S310 - ours
        request.method = method or ("GET" if data is None else "POST")
        request.add_header("Origin", self.address)
        try:
            answer: HTTPResponse | HTTPError = opener.open(request, timeout=30)
        except HTTPError as refusal:
            answer = refusal
        with answer:
            return answer, answer.read()

    def begins(self, path: str, body: bytes, **headers: str) -> HTTPSConnection:
        """A PATCH that announces more than `body`, which is all that has left so far."""
        context = ssl.create_default_context(cafile=self.certificate)
        line = HTTPSConnection(self.address.removeprefix("https://"), context=context, timeout=30)
        request = urllib.request.Request(self.address + path)  # noqa: S310 - ours
        self.cookies.add_cookie_header(request)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        crumbs = {"Cookie": request.get_header("Cookie") or "", "Origin": self.address}
        line.putrequest("PATCH", path)
        for name, value in {**named, **crumbs}.items():
            line.putheader(name, value)
        line.endheaders(body)
        return line

    def token(self, path: str) -> str:
        found = re.search(rb'name="csrfmiddlewaretoken" value="(\w+)"', self.ask(path)[1])
        assert found
        return found.group(1).decode()

    def sign_in(self, email: str) -> None:
        told = {
            "email": email,
            "password": PASSWORD,
            "csrfmiddlewaretoken": self.token("/sign-in/password/"),
        }
        answer, _body = self.ask("/sign-in/password/", data=urlencode(told).encode())
        assert answer.headers["Location"] == "/sign-in/second/"
        told = {"code": app_code(), "csrfmiddlewaretoken": self.token("/sign-in/second/")}
        answer, _body = self.ask("/sign-in/second/", data=urlencode(told).encode())
        assert answer.headers["Location"] == "/"
