"""Six drawings, one of each kind and one of all; and drawings by chance."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from portal.review import chalk

Json = dict[str, Any]
WAVE = [
    [0.12, 0.62], [0.16, 0.52], [0.22, 0.44], [0.3, 0.42], [0.37, 0.47], [0.42, 0.56],
    [0.48, 0.63], [0.56, 0.64], [0.63, 0.58], [0.68, 0.49], [0.75, 0.45], [0.83, 0.5],
]  # fmt: skip
W = 0.008

LINE = {"k": "line", "p": [[0.1, 0.7], [0.85, 0.32]], "w": W}
ARROW = {"k": "arrow", "p": [[0.2, 0.25], [0.62, 0.6]], "w": W}
FREE = {"k": "free", "p": WAVE, "w": W}
ELLIPSE = {"k": "ellipse", "p": [[0.3, 0.2], [0.62, 0.66]], "w": W}
ANGLE = {"k": "angle", "p": [[0.28, 0.4], [0.5, 0.62], [0.72, 0.36]], "w": W, "e": 0.0056}
TEXT = {"k": "text", "p": [[0.12, 0.2]], "w": W, "s": "Heels first – übers Wasser", "h": 0.055}


def drawing(*shapes: Json, aspect: float = 16 / 9) -> Json:
    return {"schema": chalk.SCHEMA, "aspect": round(aspect, 5), "shapes": list(shapes)}


SIX = {
    "line": drawing(LINE),
    "arrow": drawing(ARROW),
    "free": drawing(FREE),
    "ellipse": drawing(ELLIPSE),
    "angle": drawing(ANGLE),
    "mixed": drawing(LINE, ARROW, FREE, ELLIPSE, ANGLE, TEXT),
}


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda number: min(high, max(low, round(number, 5))))


points = st.lists(numbers(-0.05, 1.05), min_size=2, max_size=2)
widths = numbers(0.001, 0.05)
letters = st.sampled_from("aZ09 .,'°±éßžŁ“”…€–")
sayings = st.text(letters, min_size=1, max_size=80).filter(lambda words: bool(words.strip()))


def _shapes(kind: str) -> st.SearchStrategy[Json]:
    fewest, most = chalk.POINTS[kind]
    own: dict[str, dict[str, st.SearchStrategy[Any]]] = {
        "text": {"s": sayings, "h": numbers(0.02, 0.2)},
        "angle": {"e": numbers(0.0005, 0.1)},
    }
    listed = st.lists(points, min_size=fewest, max_size=min(most, 24))
    return st.fixed_dictionaries(
        {"k": st.just(kind), "p": listed, "w": widths, **own.get(kind, {})}
    )


def _has_legs(made: Json) -> bool:
    try:
        chalk.read(made)
    except chalk.Malformed as malformed:
        return malformed.what != "leg"
    return True


any_drawing: st.SearchStrategy[Json] = st.fixed_dictionaries(
    {
        "schema": st.just(chalk.SCHEMA),
        "aspect": numbers(0.2, 5),
        "shapes": st.lists(
            st.sampled_from(list(chalk.POINTS)).flatmap(_shapes), min_size=1, max_size=8
        ),
    }
).filter(_has_legs)
