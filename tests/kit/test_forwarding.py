from __future__ import annotations

import pytest
from django.test import RequestFactory

from portal.kit.forwarding import client

FORWARDED = {"X-Forwarded-For": "192.0.2.7"}


@pytest.mark.parametrize(
    ("xaccel", "headers", "seen"),
    [
        ("/protected/", FORWARDED, "192.0.2.7"),
        ("/protected/", {}, "10.0.0.1"),
        ("", FORWARDED, "10.0.0.1"),
    ],
)
def test_it_works(settings, xaccel: str, headers: dict[str, str], seen: str):
    settings.XACCEL = xaccel

    assert client(RequestFactory(REMOTE_ADDR="10.0.0.1").get("/", headers=headers)) == seen
