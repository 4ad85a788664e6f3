"""What the bench sends. Only the fields that were sent are read, so that a change is small."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from portal.items.models import Verdict
from portal.people.models import Swimmer
from portal.recordings.models import Clip
from portal.review import choosing
from portal.review.commenting import Fields
from portal.technique.models import Drill


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


class DeckForm(forms.Form):
    """A note from the deck, for a telephone and without script. What was seen says by itself
    whether it is praise."""

    seen = forms.ChoiceField(label=_("What you saw"))
    words = forms.CharField(
        label=_("In your words"),
        max_length=4000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    cue = forms.CharField(label=_("Cue"), max_length=160, required=False)
    drill = forms.ChoiceField(label=_("Drill"), required=False)
    dose = forms.CharField(label=_("Dose"), max_length=40, required=False)
    focus = forms.BooleanField(label=_("The focus of this review"), required=False)
    not_legal = forms.BooleanField(label=_("It looks not legal"), required=False)

    def __init__(self, sent: QueryDict | None, *, stroke: str) -> None:
        super().__init__(sent, initial=None)
        points, faults = choosing.checkpoints(stroke), choosing.faults(stroke)
        names = ("slug", "name")
        self.fields["seen"].choices = [  # type: ignore[attr-defined]
            ("", _("choose")),
            (
                _("Going well"),
                [(f"good:{slug}", name) for slug, name in points.values_list(*names)],
            ),
            (
                _("To work on"),
                [(f"work:{slug}", name) for slug, name in faults.values_list(*names)],
            ),
        ]
        drills = choosing.fitting(Drill.objects.all(), stroke).values_list(*names)
        self.fields["drill"].choices = [("", _("no drill")), *drills]  # type: ignore[attr-defined]

    def said(self) -> Fields:
        data = self.cleaned_data
        kind, _colon, slug = data["seen"].partition(":")
        correction = Verdict.NOT_LEGAL if data["not_legal"] else Verdict.WORK_ON
        verdict = Verdict.GOOD if kind == "good" else correction
        said = Fields(verdict=verdict, tag=slug, words=data["words"].strip())
        if kind != "good":
            said["cue"], said["drill"], said["dose"] = data["cue"], data["drill"], data["dose"]
            said["focus"] = data["focus"]
        return said


def read_object(body: bytes) -> dict[str, Any]:
    """The object that the page sent; what cannot be read is an empty one, and lacks its fields."""
    try:
        sent = json.loads(body)
        # Half of a pair of surrogates is JSON, but no text that can be stored.
        json.dumps(sent, ensure_ascii=False).encode()
    except (ValueError, RecursionError):
        return {}
    return sent if isinstance(sent, dict) else {}
