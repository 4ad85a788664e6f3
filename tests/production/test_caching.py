"""A page can do without the cache."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from django.core.cache.backends.base import BaseCache

from portal.kit.caching import CalmRedisCache
from tests.servers import own_folder, program, started_redis


@pytest.fixture
def home() -> Iterator[Path]:
    with own_folder() as folder:
        yield folder


@pytest.fixture
def cache(home: Path) -> BaseCache:
    return CalmRedisCache(f"unix://{home}/r.sock", {})


def start(home: Path) -> ExitStack:
    stack = ExitStack()
    stack.enter_context(started_redis(program("redis-server"), home))
    return stack


def test_it_works(cache: BaseCache, home: Path):
    with start(home):
        assert cache.add("tries", 0, 60)
        assert not cache.add("tries", 5, 60)
        assert cache.incr("tries") == 1
        cache.set_many({"a": 1, "b": 2}, 60)
        assert cache.get_many(["a", "b", "c"]) == {"a": 1, "b": 2}
        assert cache.delete("tries")
        assert cache.get("tries", "none") == "none"


def test_without_redis_nothing_is_found_and_nothing_fails(cache: BaseCache):
    assert not cache.add("tries", 0, 60)
    cache.set("a", 1, 60)
    cache.set_many({"a": 1}, 60)
    assert cache.get("a", "none") == "none"
    assert cache.get_many(["a"]) == {}
    assert not cache.has_key("a")
    assert not cache.touch("a", 60)
    assert not cache.delete("a")
    cache.delete_many(["a"])
    cache.clear()
    with pytest.raises(ValueError, match="not found"):
        cache.incr("a")


def test_it_finds_redis_again(cache: BaseCache, home: Path):
    with start(home):
        cache.set("a", 1, 60)
    assert cache.get("a") is None
    with start(home):
        cache.set("a", 2, 60)
        assert cache.get("a") == 2


def test_nobody_waits_long(cache: BaseCache, home: Path):
    with start(home):
        cache.set("a", 1, 60)
        client = cache._cache.get_client()  # type: ignore[attr-defined]
        client.client_pause(20_000)
        began = time.monotonic()

        assert cache.get("a") is None

        assert time.monotonic() - began < 3
