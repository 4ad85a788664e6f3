"""The sentences of a squad's page, and its bars."""

from __future__ import annotations

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from portal.items.pairing import Table
from portal.progress import saying
from portal.progress.gathering import Term
from portal.progress.mustering import Agreement
from portal.progress.tallying import Bar, Trial

register = template.Library()
for name in ("prevalence", "who", "cohort", "silence", "usual", "filmed", "fixes", "trials"):
    register.filter(name, getattr(saying, name))
register.filter("disputed", saying.disputed)

WIDE, HIGH = 220, 16


@register.filter
def trial(found: Trial, name: str) -> str:
    return saying.trial(name, found)


@register.filter
def agreement(found: Agreement) -> str:
    return saying.agreement(found.one, found.other, found.clips, found.value)


@register.filter
def together(table: Table, first: Term) -> tuple[Table, str]:
    return table, first.name


@register.filter
def then(found: tuple[Table, str], second: Term) -> str:
    table, first = found
    return saying.pair(table, first, second.name)


@register.simple_tag
def squad_bar(bar: Bar) -> SafeString:
    """Active, clean, not looked at; the sentence beside it says the same."""
    one = WIDE / bar.total
    active, clean = one * len(bar.active), one * len(bar.clean)
    parts = [
        format_html(
            '<rect class="bar-active" width="{}" height="{}" fill="#d55e00"/>',
            round(active, 1),
            HIGH,
        ),
        format_html(
            '<rect class="bar-clean" x="{}" y="1" width="{}" height="{}" fill="none"'
            ' stroke="#0072b2" stroke-width="2"/>',
            round(active + 1, 1),
            round(max(clean - 2, 0), 1),
            HIGH - 2,
        )
        if clean
        else "",
        format_html(
            '<path d="M{} {}H{}" stroke="#586362" stroke-width="2" stroke-dasharray="4 4"/>',
            round(active + clean + 3, 1),
            HIGH / 2,
            WIDE,
        )
        if bar.unseen
        else "",
    ]
    # Numbers of ours only.
    return mark_safe(  # noqa: S308
        f'<svg class="squad-bar" width="{WIDE}" height="{HIGH}" viewBox="0 0 {WIDE} {HIGH}"'
        f' aria-hidden="true">{"".join(parts)}</svg>'
    )
