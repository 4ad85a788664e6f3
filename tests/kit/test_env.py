from __future__ import annotations

from pathlib import Path

import pytest

from portal import env

# Fifty characters, as many as are asked for.
HARD = "c7d1f0a94be2836d5190ac4e77f2b86d013e9a5cb4d8f26071"


def test_it_works(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("FLAGLINE_X", "On")
    monkeypatch.setenv("FLAGLINE_N", "12")
    monkeypatch.setenv("FLAGLINE_W", "a, b,,c ")

    assert env.flag("FLAGLINE_X") is True
    assert env.flag("FLAGLINE_UNSET", default=True) is True
    assert env.number("FLAGLINE_N", 3) == 12
    assert env.number("FLAGLINE_UNSET", 3) == 3
    assert env.words("FLAGLINE_W") == ["a", "b", "c"]
    assert env.text("FLAGLINE_UNSET", "x") == "x"


def test_a_flag_that_is_neither_is_refused(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("FLAGLINE_X", "maybe")

    with pytest.raises(env.BadSetting, match="FLAGLINE_X='maybe' is neither yes nor no"):
        env.flag("FLAGLINE_X")


def test_a_number_in_words_is_refused(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("FLAGLINE_N", "twelve")

    with pytest.raises(env.BadSetting, match="'twelve' is not a whole number"):
        env.number("FLAGLINE_N", 3)


def test_a_secret_is_made_once_and_kept_from_others(tmp_path: Path):
    first = env.secret("FLAGLINE_S", keep_in=tmp_path)

    assert env.secret("FLAGLINE_S", keep_in=tmp_path) == first
    assert len(first) == 96
    [kept] = tmp_path.iterdir()
    assert kept.stat().st_mode & 0o777 == 0o600


def test_a_secret_comes_from_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "s").write_text(f"{HARD}\n")
    monkeypatch.setenv("FLAGLINE_S_FILE", str(tmp_path / "s"))

    assert env.secret("FLAGLINE_S", keep_in=tmp_path) == HARD


@pytest.mark.parametrize("weak", ["change-me", HARD[:49], "ab" * 40])
def test_a_secret_that_can_be_guessed_is_refused(
    weak: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """From the environment and from a file, and without quoting it."""
    (tmp_path / "s").write_text(weak)
    for name, value in (("FLAGLINE_S_FILE", str(tmp_path / "s")), ("FLAGLINE_S", weak)):
        monkeypatch.setenv(name, value)
        with pytest.raises(env.BadSetting, match=f"{name} holds {len(weak)} char") as caught:
            env.secret("FLAGLINE_S", keep_in=tmp_path)
        assert weak not in str(caught.value)


def test_a_missing_secret_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("FLAGLINE_S_FILE", str(tmp_path / "gone"))

    with pytest.raises(env.BadSetting, match="cannot be read"):
        env.secret("FLAGLINE_S", keep_in=tmp_path)
