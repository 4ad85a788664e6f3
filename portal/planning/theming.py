"""Which themes a practice should have. Knows no database.

A theme is worth to a swimmer what the most pressing item of theirs in it is worth, and a set of
themes is worth to a swimmer what its best theme is. Greedy choice reaches at least 1 - 1/e of the
best set (Nemhauser, Wolsey and Fisher 1978, from memory), and exchanging one theme at a time
leaves little of the rest.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Mapping, Sequence
from typing import TypeVar

ThemeT = TypeVar("ThemeT", bound=Hashable)


def worth(wants: Collection[Mapping[ThemeT, int]], themes: Collection[ThemeT]) -> int:
    """Of a set of themes: the sum over the swimmers of the best that is in it for each."""
    return sum(max((want.get(theme, 0) for theme in themes), default=0) for want in wants)


def choose(
    wants: Collection[Mapping[ThemeT, int]],
    *,
    themes: Sequence[ThemeT],
    lanes: int,
    held: Sequence[ThemeT] = (),
) -> list[ThemeT]:
    """At most `lanes` of `themes`, those that are `held` among them whatever they are worth.

    `themes` come in the order of the catalogue, which decides between equals: the same wants
    give the same themes. A theme that adds nothing is left out.
    """
    chosen = list(held)[:lanes]
    fixed = len(chosen)
    while len(chosen) < lanes:
        now = worth(wants, chosen)
        rest = [theme for theme in themes if theme not in chosen]
        best = max(rest, key=lambda theme: worth(wants, [*chosen, theme]), default=None)
        if best is None or worth(wants, [*chosen, best]) <= now:
            break
        chosen.append(best)
    _exchange(wants, chosen, themes=themes, fixed=fixed)
    order = {theme: place for place, theme in enumerate(themes)}
    return chosen[:fixed] + sorted(chosen[fixed:], key=lambda theme: order[theme])


def _exchange(
    wants: Collection[Mapping[ThemeT, int]],
    chosen: list[ThemeT],
    *,
    themes: Sequence[ThemeT],
    fixed: int,
) -> None:
    """One theme for another for as long as that is worth more; each round gains a point, so it
    ends."""
    while True:
        now, found = worth(wants, chosen), None
        for place in range(fixed, len(chosen)):
            for theme in themes:
                if theme in chosen:
                    continue
                other = worth(wants, [*chosen[:place], theme, *chosen[place + 1 :]])
                if other > now:
                    now, found = other, (place, theme)
        if found is None:
            return
        chosen[found[0]] = found[1]
