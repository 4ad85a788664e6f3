"""Reading settings from the environment: wrong values stop the start and say what was read."""

from __future__ import annotations

import os
from pathlib import Path

YES = {"1", "true", "yes", "on"}
# As Django's own check of a secret has it, which says no more than a warning.
SECRET_LENGTH, SECRET_VARIETY = 50, 5
NO = {"", "0", "false", "no", "off"}


class BadSetting(Exception):
    """A setting in the environment cannot be used."""


def text(name: str, default: str = "") -> str:
    return os.environ.get(name, default)


def flag(name: str, *, default: bool = False) -> bool:
    value = os.environ.get(name)
    if value is None:
        return default
    if value.lower() in YES:
        return True
    if value.lower() in NO:
        return False
    raise BadSetting(f"{name}={value!r} is neither yes nor no. Write {name}=1 or {name}=0.")


def number(name: str, default: int) -> int:
    value = os.environ.get(name)
    if value is None or value == "":
        return default
    try:
        return int(value)
    except ValueError as error:
        raise BadSetting(
            f"{name}={value!r} is not a whole number. Write it in digits, such as {name}={default}."
        ) from error


def words(name: str, default: str = "") -> list[str]:
    """A comma-separated list."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def secret(name: str, *, keep_in: Path) -> str:
    """The secret from NAME, from the file that NAME_FILE names, or from a file made once.

    The file is readable by its owner alone, so that an embedded portal needs no set-up. A secret
    that could be guessed is refused; the refusal does not quote it.
    """
    if value := os.environ.get(name):
        return _hard(name, value)
    if path := os.environ.get(f"{name}_FILE"):
        try:
            value = Path(path).read_text().strip()
        except OSError as error:
            raise BadSetting(
                f"{name}_FILE={path!r} cannot be read ({error.strerror}). "
                "Give the path of a file that holds the secret."
            ) from error
        return _hard(f"{name}_FILE", value)
    return _hard(name, _kept(keep_in / f"{name.lower()}.txt"))


def _hard(name: str, value: str) -> str:
    if len(value) < SECRET_LENGTH or len(set(value)) < SECRET_VARIETY:
        raise BadSetting(
            f"{name} holds {len(value)} characters, {len(set(value))} of them different, and "
            f"could be guessed. Give at least {SECRET_LENGTH} that were drawn by chance, such as "
            "those of: openssl rand -hex 48. Or unset it, and the portal makes one."
        )
    return value


def _kept(path: Path) -> str:
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_suffix(f".{os.getpid()}")
        descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as file:
            file.write(os.urandom(48).hex())
        try:
            # link() refuses to replace: of two first starts at once, one secret wins.
            os.link(draft, path)
        except FileExistsError:
            pass
        finally:
            draft.unlink()
    return path.read_text().strip()
