from __future__ import annotations

import re
import socket
from pathlib import Path

import pytest
from django.core.checks import Tags, run_checks

from portal.jobs.guarding import AlreadyServed, NoDoor, demo_hindrance, door, only_one
from portal.people.models import Club
from tests.cast import Cast


@pytest.fixture
def demo(settings, db) -> None:
    settings.DEMO = True
    settings.PUBLIC_ADDRESS, settings.IS_SECURE = "http://localhost:8000", False
    Club.objects.create(name="Demo", course="25 m", is_demo=True)


@pytest.mark.parametrize("address", ["127.0.0.1", "localhost", "::1"])
def test_it_works(demo, address: str):
    assert demo_hindrance(address) == ""


def test_a_real_club_may_listen_anywhere(cast: Cast, settings):
    settings.PUBLIC_ADDRESS, settings.IS_SECURE = "https://portal.example.org", True

    assert demo_hindrance("0.0.0.0") == ""  # noqa: S104 - nothing listens


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "192.168.1.20", "portal.example.org"])  # noqa: S104
def test_the_demo_is_refused_where_others_can_reach_it(demo, address: str):
    hindrance = demo_hindrance(address)

    assert f"--address {address} can be reached from other machines" in hindrance
    assert "unset FLAGLINE_DEMO" in hindrance


@pytest.mark.parametrize(
    ("public", "is_secure"),
    [
        ("https://portal.example.org", True),
        ("https://localhost", True),
        ("http://portal.example.org", False),
    ],
)
def test_the_demo_is_refused_behind_a_public_address(demo, settings, public: str, is_secure: bool):
    settings.PUBLIC_ADDRESS, settings.IS_SECURE = public, is_secure

    assert f"FLAGLINE_ADDRESS={public!r}" in demo_hindrance("127.0.0.1")
    assert [found.id for found in run_checks(tags=[Tags.security])] == ["jobs.E001"]


def test_the_demo_is_refused_beside_a_real_club(demo, cast: Cast, settings):
    hindrance = demo_hindrance("127.0.0.1")

    assert f"{settings.DATA_DIR} holds 2 club(s) of real people" in hindrance
    assert "FLAGLINE_DATA" in hindrance


def test_one_folder_is_served_once(tmp_path: Path):
    with (
        only_one(tmp_path / "club"),
        pytest.raises(AlreadyServed, match=r"already runs with the data in .*FLAGLINE_DATA"),
        only_one(tmp_path / "club"),
    ):
        pass
    with only_one(tmp_path / "club"):
        pass


def test_a_busy_port_is_told():
    with door("127.0.0.1", 0) as taken:
        taken.listen()
        port = taken.getsockname()[1]
        with (
            pytest.raises(NoDoor, match=rf"Port {port} at .* is in use.*--port {port + 1}"),
            door("127.0.0.1", port),
        ):
            pass


def test_the_port_is_free_again_at_once():
    with door("127.0.0.1", 0) as first:
        first.listen()
        port = first.getsockname()[1]
        with socket.create_connection(("127.0.0.1", port)), first.accept()[0]:
            pass
    with door("127.0.0.1", port) as second:
        assert second.getsockname()[1] == port


@pytest.mark.parametrize("address", ["192.0.2.7", "no.such.host.invalid"])
def test_an_address_of_another_machine_is_told(address: str):
    with (
        pytest.raises(NoDoor, match=f"cannot listen at {re.escape(address)}, port 0"),
        door(address, 0),
    ):
        pass
