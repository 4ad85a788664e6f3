"""What a code app and recovery codes are worked out from, unreadable in the database.

Whoever gets hold of a copy of the database alone cannot show a second factor with it. The key is
drawn from the portal's secret, so the copy and the secret belong in different places.
"""

from __future__ import annotations

from base64 import urlsafe_b64encode

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

# Neither base32 nor hexadecimal, in which the plain ones are written.
MARK = "hidden:"


class Unreadable(Exception):
    """It was hidden with a secret that the portal does not have."""


def hide(plain: str) -> str:
    return MARK + _keys().encrypt(plain.encode()).decode()


def is_hidden(text: str) -> bool:
    return text.startswith(MARK)


def reveal(hidden: str) -> str:
    """Raises Unreadable, for what was never hidden too: nobody plants a secret of their own."""
    try:
        return _keys().decrypt(hidden.removeprefix(MARK)).decode()
    except InvalidToken as error:
        raise Unreadable(
            "A second factor was hidden with another FLAGLINE_SECRET than today’s. Name the one"
            " before in FLAGLINE_FORMER_SECRETS, or take the factor away with forget_factor."
        ) from error


def _keys() -> MultiFernet:
    """Today's hides; those before only reveal."""
    return MultiFernet(
        [_key(secret) for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)]
    )


def _key(secret: str) -> Fernet:
    """Of its own, by HKDF (RFC 5869), so that it tells nothing of the keys for other uses."""
    drawn = HKDF(SHA256(), length=32, salt=None, info=b"flagline second factors")
    return Fernet(urlsafe_b64encode(drawn.derive(secret.encode())))
