"""Parts of a page that are the same for everybody."""

from __future__ import annotations

from functools import cache

from django import template
from django.conf import settings
from django.template.loader import render_to_string
from django.utils.html import json_script
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from portal.review import benching

register = template.Library()


@register.simple_tag
def once(name: str, **words: str) -> SafeString:
    """A part that knows nothing but `words`, such as a clip's stroke: drawn once a process.

    Its many words cost more to look up than the rest of the page.
    """
    draw = _draw if settings.DEBUG else _drawn
    return draw(name, get_language(), **words)


@register.simple_tag
def phrases() -> SafeString:
    """What the bench's scripts say, as JSON with the id `bench-phrases`."""
    return _phrases(get_language())


@cache
def _phrases(_language: str | None) -> SafeString:
    return json_script(benching.phrases(), "bench-phrases")


def _draw(name: str, _language: str | None, **words: str) -> SafeString:
    return render_to_string(name, words)


_drawn = cache(_draw)
