"""A stroke's word from its slug."""

from __future__ import annotations

from django import template

from portal.technique.models import Stroke

register = template.Library()


@register.filter
def stroke_name(slug: str) -> str:
    return str(Stroke(slug).label)


@register.simple_tag
def stroke_word(slug: str) -> str:
    return stroke_name(slug).capitalize()
