"""One cache for all processes, which a page can do without.

With Redis away, nothing is remembered and nothing is found; no page fails for it.
"""

from __future__ import annotations

import logging
from typing import Any

import redis
from django.core.cache.backends.redis import RedisCache, RedisCacheClient
from django.utils.functional import cached_property

log = logging.getLogger(__name__)

# A page waits no longer than this for an answer.
SECONDS = 1.0


class CalmRedis(redis.Redis):
    def execute_command(self, *words: Any, **options: Any) -> Any:  # noqa: ANN401 - its signature
        try:
            return super().execute_command(*words, **options)  # type: ignore[no-untyped-call]
        except redis.RedisError as error:
            log.warning("no cache", extra={"error": type(error).__name__})
            return [] if words[0] == "MGET" else None


class CalmClient(RedisCacheClient):
    def __init__(self, servers: list[str], **options: Any) -> None:  # noqa: ANN401
        waits = {"socket_timeout": SECONDS, "socket_connect_timeout": SECONDS}
        super().__init__(servers, **{**waits, **options})
        self._client = CalmRedis

    def set_many(self, data: Any, timeout: Any) -> None:  # noqa: ANN401 - its signature
        """One by one: a pipeline would pass the calm by."""
        for key, value in data.items():
            self.set(key, value, timeout)


class CalmRedisCache(RedisCache):
    @cached_property
    def _cache(self) -> CalmClient:
        return CalmClient(self._servers, **self._options)  # type: ignore[attr-defined]
