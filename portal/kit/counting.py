"""How often something was done of late, counted in the cache that all processes share."""

from __future__ import annotations

from django.core.cache import cache


def one_more(key: str, *, within: int) -> int:
    """Counts one, and forgets them all so many seconds after the first. 0 where there is no
    cache to count in, or where the count ran out between its two steps: nobody is shut out for
    that."""
    cache.add(key, 0, within)
    try:
        return cache.incr(key) or 0
    except ValueError:
        return 0
