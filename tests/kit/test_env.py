from __future__ import annotations

from pathlib import Path

import pytest

from portal import env


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
    (tmp_path / "s").write_text("from a file\n")
    monkeypatch.setenv("FLAGLINE_S_FILE", str(tmp_path / "s"))

    assert env.secret("FLAGLINE_S", keep_in=tmp_path) == "from a file"


def test_a_missing_secret_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("FLAGLINE_S_FILE", str(tmp_path / "gone"))

    with pytest.raises(env.BadSetting, match="cannot be read"):
        env.secret("FLAGLINE_S", keep_in=tmp_path)
