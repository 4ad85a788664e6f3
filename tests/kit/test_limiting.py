"""The last one that is let through, and what the next is told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone
from redis.exceptions import ConnectionError as Unreachable

from portal.kit.limiting import HOUR, at_most
from tests.cast import NOW, Cast


@pytest.fixture
def standing_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Many requests take a while, and a window may end meanwhile."""
    moment = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: moment)


@at_most(2, within=HOUR, of="tests")
def view(request):
    return HttpResponse("done")


@pytest.fixture
def ask(cast: Cast, rf: RequestFactory) -> Callable[..., HttpResponse]:
    def one(*, user=cast.coach, at=NOW, method: str = "POST", **headers: str) -> HttpResponse:
        request = rf.generic(method, "/", headers=headers)
        vars(request).update(user=user, now=at)
        answer = view(request)
        assert isinstance(answer, HttpResponse)
        return answer

    return one


def test_it_works(ask, cast: Cast):
    assert [ask().status_code for _ in range(3)] == [200, 200, 429]
    assert ask(user=cast.assistant).status_code == 200, "everybody has a count of their own"
    assert ask(method="GET").status_code == 200, "looking is not counted"
    assert ask(at=NOW + timedelta(hours=1)).status_code == 200


def test_the_page_says_when_to_go_on(ask):
    refused = [ask(at=NOW.replace(minute=50, second=30)) for _ in range(3)][-1]

    assert refused.headers["Retry-After"] == "570"
    assert "Go on in 10 minutes." in refused.content.decode()


def test_a_script_is_told_in_few_words(ask):
    [ask(), ask()]
    refused = ask(**{"Sec-Fetch-Dest": "empty"})

    assert refused.headers["Content-Type"] == "application/json"
    assert b"That was a lot in a short time." in refused.content


def test_without_a_cache_everybody_is_let_through(ask, settings, monkeypatch: pytest.MonkeyPatch):
    def away(*_words: object, **_options: object) -> None:
        raise Unreachable

    monkeypatch.setattr("redis.Redis.execute_command", away)
    settings.CACHES = {
        "default": {
            "BACKEND": "portal.kit.caching.CalmRedisCache",
            "LOCATION": "unix:///nowhere.sock",
        }
    }

    assert [ask().status_code for _ in range(3)] == [200, 200, 200]


@pytest.mark.parametrize(
    ("name", "thing", "count"),
    [("reports:sheet", "session", 20), ("recordings:upload", "session", 120)],
)
@pytest.mark.usefixtures("standing_clock")
def test_costly_pages_have_a_limit(name: str, thing: str, count: int, cast: Cast, as_coach: Client):
    """Asked for somewhere that is not theirs, which costs nothing and counts."""
    address = reverse(name, args=["00000000-0000-0000-0000-000000000000"])

    answers = [as_coach.post(address).status_code for _ in range(count + 1)]

    assert answers == [404] * count + [429]


@pytest.mark.parametrize("name", ["write", "change", "drop", "restore"])
@pytest.mark.usefixtures("standing_clock")
def test_remarks_share_a_limit(name: str, cast: Cast, as_coach: Client):
    nowhere = ["00000000-0000-0000-0000-000000000000"]
    for _ in range(60):
        as_coach.post(reverse("review:write", args=nowhere))
        as_coach.post(reverse("review:drop", args=nowhere))

    assert as_coach.post(reverse(f"review:{name}", args=nowhere)).status_code == 429
