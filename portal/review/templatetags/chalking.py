"""Drawings in pages that have no script, and on paper."""

from __future__ import annotations

from typing import Any

from django import template

from portal.review import drawing

register = template.Library()


@register.inclusion_tag("kit/_chalk.html")
def chalk(stored: dict[str, Any]) -> dict[str, Any]:
    """A comment's drawing as SVG, as wide as its place."""
    return drawing.as_svg(stored)
