from __future__ import annotations

import re

from django.test import Client


def test_it_works(db):
    first, second = (Client().get("/health/") for _ in range(2))

    policy = first["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert first["Cache-Control"] == "private, no-store"
    nonces = [re.findall(r"nonce-([\w-]+)", r["Content-Security-Policy"]) for r in (first, second)]
    assert len(nonces[0]) == 1
    assert nonces[0] != nonces[1]
