"""The demo signs anybody in, so it must not stand where anybody can reach it."""

from __future__ import annotations

from collections.abc import Sequence
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error


def is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        return False


def public_demo_hindrance() -> str:
    """Why the demo may not run at the portal's public address; empty when it may."""
    address = settings.PUBLIC_ADDRESS
    if settings.DEMO and (settings.IS_SECURE or not is_loopback(urlsplit(address).hostname or "")):
        return (
            f"FLAGLINE_DEMO is on, but FLAGLINE_ADDRESS={address!r} is not this machine alone: "
            "the demo signs anybody in. Unset FLAGLINE_DEMO for a real club, or unset "
            "FLAGLINE_ADDRESS to look at the demo here."
        )
    return ""


def demo_stays_here(
    app_configs: Sequence[AppConfig] | None,  # noqa: ARG001 - the framework's signature
    **_options: Any,  # noqa: ANN401 - the framework's signature
) -> list[CheckMessage]:
    hindrance = public_demo_hindrance()
    return [Error(hindrance, id="jobs.E001")] if hindrance else []
