"""The fixed words of the families' pages can be read by a child of twelve.

Measured by the Flesch-Kincaid grade: J. P. Kincaid, R. P. Fishburne, R. L. Rogers and B. S.
Chissom, "Derivation of new readability formulas", Research Branch Report 8-75, Naval Technical
Training, 1975. Grade 6 is school at eleven to twelve. Syllables are counted by the library pyphen
and by groups of vowels, and the larger count is taken: hyphenation leaves out short endings.
"""

from __future__ import annotations

import re
from pathlib import Path

import pyphen
import pytest

from tests.house import ROOT

HIGHEST = 6.0
FILES = sorted(
    path
    for path in (ROOT / "templates" / "notes").glob("*.html")
    if path.name not in ("_waiting.html",)  # the coaches' desk
)
PHRASE = re.compile(
    r'{%\s*translate\s+"([^"]+)"|{%\s*blocktranslate[^%]*%}(.*?){%\s*endblocktranslate', re.DOTALL
)
SAID = re.compile(r'\b_\(\s*((?:"[^"]*"\s*)+)\)|gettext_lazy\(\s*((?:"[^"]*"\s*)+)\)')
MODULES = ["talking", "reading", "following", "views", "talk", "forms"]
_hyphens = pyphen.Pyphen(lang="en_GB")


def syllables(word: str) -> int:
    groups = len(re.findall(r"[aeiouy]+", word.lower()))
    silent = word.lower().endswith("e") and not word.lower().endswith("le") and groups > 1
    return max(1, groups - silent, len(_hyphens.positions(word)) + 1)


def grade(phrases: list[str]) -> float:
    sentences = [part for phrase in phrases for part in re.split(r"[.!?:]+(?:\s|$)", phrase)]
    counted = [re.findall(r"[A-Za-z’']+", sentence) for sentence in sentences]
    counted = [words for words in counted if words]
    words = [word for each in counted for word in each]
    per_word = sum(map(syllables, words)) / len(words)
    return 0.39 * len(words) / len(counted) + 11.8 * per_word - 15.59


def phrases_of(path: Path) -> list[str]:
    text = path.read_text()
    if path.suffix == ".html":
        found = ["".join(match.groups(default="")) for match in PHRASE.finditer(text)]
        # Both forms of a count are read; of a name it matters only that it is one.
        found = [part for each in found for part in re.split(r"{%\s*plural\s*%}", each)]
        return [re.sub(r"{{[^}]*}}", "Ines", each) for each in found]
    found = ["".join(match.groups(default="")) for match in SAID.finditer(text)]
    joined = ["".join(re.findall(r'"([^"]*)"', each)) for each in found]
    return [re.sub(r"%\(\w+\)s", "Ines", each) for each in joined]


def long_ones(phrases: list[str]) -> list[str]:
    """A label of three words says nothing about sentences."""
    return [phrase for phrase in phrases if len(phrase.split()) >= 5]


def test_it_works():
    # By hand: 6 words, 1 sentence, 6 syllables; 6 words, 1 sentence, 15 syllables.
    assert grade(["The cat sat on the mat."]) == pytest.approx(0.39 * 6 + 11.8 - 15.59)
    hard = ["Longitudinal rotation compromises propulsive efficiency considerably"]
    assert grade(hard) > 20


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_each_page_is_plain(path: Path):
    phrases = long_ones(phrases_of(path))

    if phrases:
        assert grade(phrases) <= HIGHEST, phrases


@pytest.mark.parametrize("name", MODULES)
def test_what_the_pages_put_together_is_plain(name: str):
    phrases = long_ones(phrases_of(ROOT / "portal" / "notes" / f"{name}.py"))

    assert phrases
    assert grade(phrases) <= HIGHEST, phrases
