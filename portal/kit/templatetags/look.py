"""Signs, the mark and moments of film for templates."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from portal.kit.signs import Sign, svg_parts

register = template.Library()


@register.simple_tag
def sign(name: str, size: int = 18, label: str = "") -> SafeString:
    """A sign of the visual alphabet; without a label its word must stand beside it."""
    return _drawn(name, int(size), str(label))


@lru_cache(maxsize=512)
def _drawn(name: str, size: int, label: str) -> SafeString:
    """A page has hundreds of a few signs."""
    said = format_html('role="img" aria-label="{}"', label) if label else 'aria-hidden="true"'
    # svg_parts holds our own constants only, and format_html has escaped the label.
    return mark_safe(  # noqa: S308
        f'<svg class="sign" width="{size}" height="{size}" viewBox="0 0 24 24" {said}>'
        f"{svg_parts(Sign(name))}</svg>"
    )


@register.simple_tag
def sign_row(names: Iterable[str], size: int = 18) -> SafeString:
    """Signs side by side; their words must stand beside them."""
    # Whatever `sign` gives is safe.
    return mark_safe("".join(sign(name, size) for name in names))  # noqa: S308


@register.simple_tag
def sign_shapes(name: str) -> SafeString:
    """A sign's shapes alone, for a <symbol> that scripts hang on the rope."""
    return mark_safe(svg_parts(Sign(name)))  # noqa: S308


@register.filter
def film_time(seconds: float) -> str:
    """Seconds as 0:07.42."""
    hundredths = round(float(seconds) * 100)
    minutes, rest = divmod(hundredths, 6000)
    return f"{minutes}:{rest // 100:02d}.{rest % 100:02d}"
