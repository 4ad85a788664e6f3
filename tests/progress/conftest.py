from __future__ import annotations

import pytest
from django.utils import timezone

from tests.cast import NOW


@pytest.fixture(autouse=True)
def on_the_casts_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is lately depends on the day of the reader."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)
