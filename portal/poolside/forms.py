"""What a coach wishes for a turn."""

from __future__ import annotations

from django import forms
from django.http import QueryDict

from portal.poolside.models import LANES, MOST_REPEATS, Turn


class TurnForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Turn
        fields = ("lane", "view", "repeats")
        widgets = {
            "lane": forms.NumberInput(attrs={"inputmode": "numeric", "min": 1, "max": LANES}),
            "repeats": forms.NumberInput(
                attrs={"inputmode": "numeric", "min": 1, "max": MOST_REPEATS}
            ),
        }

    def __init__(self, data: QueryDict | None = None, *, turn: Turn) -> None:
        super().__init__(data, instance=turn, auto_id=f"%s-{turn.code}")
