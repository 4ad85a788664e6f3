"""What the bench's scripts need beside the page."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from django import template
from django.utils.html import escape, json_script
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from portal.kit.templatetags.look import sign
from portal.recordings.models import Clip
from portal.review import benching
from portal.review.benching import Remark
from portal.review.slips import bench_of

register = template.Library()


@register.simple_tag
def remark_rows(remarks: Iterable[Remark]) -> SafeString:
    """The list of what was said, for who has no script; a template takes three times as long."""
    # What people wrote is escaped; signs, frames and moments are our own.
    return mark_safe("\n".join(map(_row, remarks)))  # noqa: S308


def _row(remark: Remark) -> str:
    slip = remark.slip
    name, words = escape(slip["name"] or _("no tag yet")), escape(slip["words"])
    return (
        f'<li><a href="?f={slip["frame"]}">{sign(slip["verdict"], 14)}<span>'
        f'<span class="unseen">{escape(remark.word)}:</span> <b>{name}</b>'
        f' <span class="note quiet">{escape(remark.times)}</span>'
        f' <span class="words">{words}</span></span></a></li>'
    )


@register.filter
def bench_address(clip: Clip) -> str:
    """Cheaper than {% url %}, which a page with many comments would ask as often."""
    return bench_of(clip)


@register.simple_tag
def phrases() -> SafeString:
    """What the bench's scripts say, as JSON with the id `bench-phrases`."""
    return _phrases(get_language())


@cache
def _phrases(_language: str | None) -> SafeString:
    return json_script(benching.phrases(), "bench-phrases")
