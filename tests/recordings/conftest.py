from __future__ import annotations

from pathlib import Path

import pytest

from tests.media import film


@pytest.fixture(scope="session")
def long(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """16 seconds with few key frames and pictures that lean on later ones, as phones film."""
    folder = tmp_path_factory.mktemp("films")
    options = {"g": "100", "bf": "3", "preset": "ultrafast"}
    return film(folder / "long.mp4", frames=480, options=options)
