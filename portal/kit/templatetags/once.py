"""Parts of a page that are the same for everybody."""

from __future__ import annotations

from functools import cache

from django import template
from django.conf import settings
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

register = template.Library()


@register.simple_tag
def once(name: str, **words: str) -> SafeString:
    """A part that knows nothing but `words`, such as a clip's stroke: drawn once a process.

    Its many words cost more to look up than the rest of the page.
    """
    draw = _draw if settings.DEBUG else _drawn
    return draw(name, get_language(), **words)


def _draw(name: str, _language: str | None, **words: str) -> SafeString:
    return render_to_string(name, words)


_drawn = cache(_draw)
