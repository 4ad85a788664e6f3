"""Whether somebody writes of pain: a question that does so must not wait its turn.

It looks for beginnings of words and rather finds one too many: what it finds is put first and
gets a line of advice, and nothing is kept back on its account.
"""

from __future__ import annotations

import re

BEGINNINGS = (
    "ache",
    "aching",
    "agony",
    "blood",
    "bleed",
    "bruis",
    "cramp",
    "dizz",
    "faint",
    "hurt",
    "injur",
    "numb",
    "pain",
    "pulled",
    "sore",
    "sprain",
    "stabbing",
    "sting",
    "swell",
    "swollen",
    "throb",
    "tingl",
    "torn",
    "twing",
)
# They begin alike and mean nothing of the kind.
OTHERWISE = re.compile(r"\bpaint\w*|\bpainstaking\w*")
_found = re.compile(rf"\b(?:{'|'.join(BEGINNINGS)})|\b\w+ache\b")


def mentions_pain(words: str) -> bool:
    return bool(_found.search(OTHERWISE.sub(" ", words.casefold())))
