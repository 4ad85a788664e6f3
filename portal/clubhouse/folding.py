"""Words as people type them in a hurry: without accents, capitals, or the rest of the word.

Knows no Django. Databases differ in what they take for the same letter, so none is asked.
"""

from __future__ import annotations

import re
import unicodedata

# Letters that Unicode does not take apart into a plain one and its mark.
WHOLE = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ı": "i", "þ": "th", "æ": "ae", "œ": "oe"}
)
BETWEEN = re.compile(r"[\W_]+")


def folded(words: str) -> str:
    """`Żółć Ørsted` gives `zolc orsted`; whatever is no letter or digit parts two words."""
    apart = unicodedata.normalize("NFKD", words.casefold())
    plain = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return BETWEEN.sub(" ", plain.translate(WHOLE)).strip()


def begins(typed: str, words: str) -> bool:
    """Whether each word typed begins one of `words`, in whatever order. Nothing begins nothing."""
    sought, there = folded(typed).split(), folded(words).split()
    return bool(sought) and all(any(w.startswith(each) for w in there) for each in sought)
