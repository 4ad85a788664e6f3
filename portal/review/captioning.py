"""A clip's comments for other programs: WebVTT for players, Web Annotations for archives.

As of https://www.w3.org/TR/webvtt1/ and https://www.w3.org/TR/annotation-model/, where moments are
fragments of https://www.w3.org/TR/media-frags/. Pure: who calls has decided what may be read.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

READABLE = 3.0
"""Seconds that the caption of one frame stays."""


@dataclass(frozen=True)
class Caption:
    """A comment. Seconds run from the clip's first frame; `ends` is where the last frame ends."""

    code: UUID
    begins: float
    ends: float
    is_stretch: bool
    verdict: str
    tag: str
    words: str
    cue: str
    drill: str
    drawing: str
    """What the drawing says, in words."""
    author: str
    """Empty where it is not told."""
    created: datetime
    changed: datetime

    @property
    def text(self) -> str:
        heading = f"{self.verdict}: {self.tag}" if self.tag else self.verdict
        return "\n".join(filter(None, [heading, self.words, self.cue, self.drill, self.drawing]))


def as_vtt(captions: Sequence[Caption], *, title: str, seconds: float) -> str:
    """`seconds` is the clip's length: no caption outlasts it."""
    ordered = sorted(captions, key=lambda caption: (caption.begins, caption.ends))
    cues = [_cue(caption, seconds) for caption in ordered]
    return "\n\n".join([f"WEBVTT {_line(title)}".rstrip(), *cues]) + "\n"


def _cue(caption: Caption, seconds: float) -> str:
    ends = caption.ends
    if not caption.is_stretch:
        ends = max(ends, min(caption.begins + READABLE, seconds))
    lines = filter(None, (_line(line) for line in caption.text.splitlines()))
    return "\n".join(
        [str(caption.code), f"{_time(caption.begins)} --> {_time(ends)}", *map(_escaped, lines)]
    )


def _line(text: str) -> str:
    """On one line, without what no file of text may hold, nor the arrow that begins a cue."""
    words = " ".join(text.replace("\0", "�").split())
    return words.replace("-->", "->")


def _escaped(line: str) -> str:
    return line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _time(seconds: float) -> str:
    milliseconds = round(seconds * 1000)
    rest, milliseconds = divmod(milliseconds, 1000)
    rest, whole = divmod(rest, 60)
    hours, minutes = divmod(rest, 60)
    return f"{hours:02d}:{minutes:02d}:{whole:02d}.{milliseconds:03d}"


def as_annotations(
    captions: Sequence[Caption], *, address: str, source: UUID, title: str, language: str
) -> str:
    """JSON-LD: one collection of one page. The source is the clip by its code, whose film has no
    address that would hold for others."""
    items = [_annotation(caption, source, language) for caption in captions]
    page = {
        "id": f"{address}#page",
        "type": "AnnotationPage",
        "partOf": address,
        "startIndex": 0,
        "items": items,
    }
    collection = {
        "@context": "http://www.w3.org/ns/anno.jsonld",
        "id": address,
        "type": "AnnotationCollection",
        "label": title,
        "total": len(items),
        "first": page,
        "last": page["id"],
    }
    return json.dumps(collection, ensure_ascii=False, indent=1)


def _annotation(caption: Caption, source: UUID, language: str) -> dict[str, Any]:
    bodies = [
        ("assessing", caption.verdict),
        ("tagging", caption.tag),
        ("commenting", "\n".join(filter(None, [caption.words, caption.cue, caption.drill]))),
        ("describing", caption.drawing),
    ]
    made = {
        "id": f"urn:uuid:{caption.code}",
        "type": "Annotation",
        "motivation": "commenting",
        "created": caption.created.isoformat(),
        "modified": caption.changed.isoformat(),
        "body": [_body(purpose, value, language) for purpose, value in bodies if value],
        "target": {
            "type": "SpecificResource",
            "source": f"urn:uuid:{source}",
            "selector": {
                "type": "FragmentSelector",
                "conformsTo": "http://www.w3.org/TR/media-frags/",
                "value": f"t={caption.begins:.3f},{caption.ends:.3f}",
            },
        },
    }
    return made | (
        {"creator": {"type": "Person", "name": caption.author}} if caption.author else {}
    )


def _body(purpose: str, value: str, language: str) -> dict[str, str]:
    return {
        "type": "TextualBody",
        "purpose": purpose,
        "value": value,
        "format": "text/plain",
        "language": language,
    }
