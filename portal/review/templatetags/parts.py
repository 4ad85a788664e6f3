"""What the bench's scripts need beside the page."""

from __future__ import annotations

from functools import cache

from django import template
from django.utils.html import json_script
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from portal.review import benching

register = template.Library()


@register.simple_tag
def phrases() -> SafeString:
    """What the bench's scripts say, as JSON with the id `bench-phrases`."""
    return _phrases(get_language())


@cache
def _phrases(_language: str | None) -> SafeString:
    return json_script(benching.phrases(), "bench-phrases")
