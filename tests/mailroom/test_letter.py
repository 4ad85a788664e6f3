"""The frame of every letter: the product's colours, by day and by night, told apart by words."""

from __future__ import annotations

import re

import pytest
from django.conf import settings

LETTER = settings.BASE_DIR / "templates" / "email" / "_letter.html"
TOKENS = settings.BASE_DIR / "static" / "css" / "tokens.css"
DAY, NIGHT = LETTER.read_text().split("@media (prefers-color-scheme: dark)")


def colours(css: str) -> set[str]:
    return set(re.findall(r"#[0-9a-f]{6}\b", css))


def rules(css: str) -> dict[str, str]:
    """Declarations by selector, one entry for each of a comma-separated list."""
    found: dict[str, str] = {}
    for selectors, declared in re.findall(r"([\w.,\s]+?)\s*\{([^{}]*)\}", css):
        for selector in selectors.split(","):
            found[selector.strip()] = found.get(selector.strip(), "") + declared
    return found


def luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted([luminance(one), luminance(other)], reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_every_colour_is_a_token():
    by_day, by_night = TOKENS.read_text().split("prefers-color-scheme: dark")
    assert colours(DAY) <= colours(by_day)
    assert colours(NIGHT) <= colours(by_night) | colours(by_day)


def test_every_coloured_rule_has_a_twin_by_night():
    night = rules(NIGHT)
    coloured = {selector: told for selector, told in rules(DAY).items() if colours(told)}
    assert len(coloured) > 12
    for selector, told in coloured.items():
        for what in re.findall(r"(?<![\w-])(color|background)\s*:", told):
            assert re.search(rf"(?<![\w-]){what}\s*:[^;]*!important", night.get(selector, "")), (
                f"{selector} keeps its {what} of the day by night"
            )


@pytest.mark.parametrize("css", [DAY, NIGHT], ids=["day", "night"])
def test_words_stand_out(css: str):
    found = rules(css)

    def colour(selector: str, what: str) -> str:
        shown = re.search(rf"(?<![\w-]){what}\s*:\s*(#[0-9a-f]{{6}})", found[selector])
        assert shown is not None
        return shown.group(1)

    card, back = colour(".card", "background"), colour(".back", "background")
    for words in ["td", ".soft", ".small", ".good", ".work", ".legal", "a"]:
        assert contrast(colour(words, "color"), card) >= 4.5
    for words in ["td", ".soft", ".foot p", "a"]:
        assert contrast(colour(words, "color"), back) >= 4.5
    for box in [".drill", ".care"]:
        assert contrast(colour("td", "color"), colour(box, "background")) >= 4.5
    assert contrast(colour(".button a", "color"), colour(".button", "background")) >= 4.5


def test_classes_only_and_nothing_from_elsewhere():
    for path in (LETTER.parent).rglob("*.html"):
        assert not re.search(r"\sstyle=|<img|<link|src=|url\(|@import", path.read_text())
