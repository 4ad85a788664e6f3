"""What the bench sends. Only the fields that were sent are read, so that a change is small."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from portal.items.models import Verdict
from portal.people.models import Swimmer
from portal.recordings.models import Clip
from portal.review.commenting import Fields


class SwimmersField(forms.Field):
    """A list of swimmers' codes; nobody but those of the clip is looked up, or named."""

    among: QuerySet[Swimmer] = Swimmer.objects.none()

    def clean(self, value: object) -> list[Swimmer]:
        codes: list[Any] = value if isinstance(value, list) else [value]
        try:
            found = list(self.among.filter(code__in=codes))
        except (ValidationError, TypeError, ValueError):
            found = []
        if len(found) != len(codes):
            raise ValidationError(
                _("One of these does not swim in this clip. Load the page again.")
            )
        return found


class SlipForm(forms.Form):
    """The verb knows the rest: what fits the clip, the squad's words and the rules."""

    code = forms.UUIDField()
    version = forms.IntegerField(min_value=1)
    frame = forms.IntegerField(min_value=0)
    last_frame = forms.IntegerField(min_value=0, required=False)
    swimmers = SwimmersField()
    verdict = forms.ChoiceField(choices=Verdict.choices)
    tag = forms.CharField(max_length=60, required=False)
    words = forms.CharField(max_length=4000, required=False)
    cue = forms.CharField(max_length=160, required=False)
    drill = forms.CharField(max_length=60, required=False)
    dose = forms.CharField(max_length=40, required=False)
    focus = forms.BooleanField(required=False)

    def __init__(
        self, sent: Mapping[str, Any], *, clip: Clip | None, needs: tuple[str, ...] = ()
    ) -> None:
        super().__init__(data=sent)
        if clip:
            self.fields["swimmers"].among = clip.swimmers.all()  # type: ignore[attr-defined]
        self.sent = sent
        for name in [name for name in self.fields if name not in sent and name not in needs]:
            del self.fields[name]

    def said(self) -> Fields:
        """The comment's own fields, without what only serves the sending."""
        names = self.fields.keys() & Fields.__annotations__.keys()
        return cast("Fields", {name: self.cleaned_data[name] for name in names})

    def messages(self) -> dict[str, str]:
        return {name: " ".join(map(str, errors)) for name, errors in self.errors.items()}


def read_object(body: bytes) -> dict[str, Any]:
    """The object that the page sent; what cannot be read is an empty one, and lacks its fields."""
    try:
        sent = json.loads(body)
        # Half of a pair of surrogates is JSON, but no text that can be stored.
        json.dumps(sent, ensure_ascii=False).encode()
    except (ValueError, RecursionError):
        return {}
    return sent if isinstance(sent, dict) else {}
