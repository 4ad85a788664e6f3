"""What the bench sends. Only the fields that were sent are read, so that a change is small."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet, TextChoices
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from portal.items.checking import Key
from portal.items.models import Verdict
from portal.people.models import Club, Swimmer
from portal.recordings.models import Clip
from portal.review import choosing, drawing
from portal.review.asking import Check, answers_among
from portal.review.commenting import Fields
from portal.review.models import Comment
from portal.technique.models import Drill
from portal.technique.wording import Words


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


class DrawingField(forms.Field):
    """Chalk on the frame, or nothing."""

    def clean(self, value: object) -> dict[str, Any] | None:
        try:
            return drawing.read(value)
        except drawing.NoDrawing as wrong:
            raise ValidationError(str(wrong)) from wrong


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
    staff_note = forms.CharField(max_length=2000, required=False)
    cue = forms.CharField(max_length=160, required=False)
    drill = forms.CharField(max_length=60, required=False)
    dose = forms.CharField(max_length=40, required=False)
    focus = forms.BooleanField(required=False)
    drawing = DrawingField(required=False)

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


class RepeatForm(forms.Form):
    """To whom the same is to be said."""

    swimmers = SwimmersField()

    def __init__(self, sent: Mapping[str, Any], *, among: QuerySet[Swimmer]) -> None:
        super().__init__(data=sent)
        self.fields["swimmers"].among = among  # type: ignore[attr-defined]

    def clean_swimmers(self) -> list[Swimmer]:
        chosen: list[Swimmer] = self.cleaned_data["swimmers"]
        if not chosen:
            raise ValidationError(_("Choose somebody first."))
        return chosen

    def messages(self) -> dict[str, str]:
        return {name: " ".join(map(str, errors)) for name, errors in self.errors.items()}


class EveForm(forms.Form):
    """The page before publishing. Nothing has to be answered: it is asked, not locked."""

    class Act(TextChoices):
        PUBLISH = "publish"
        CHECK = "check"
        KEEP = "keep"

    act = forms.ChoiceField(choices=Act.choices, required=False)
    focus = forms.ChoiceField(required=False)

    def __init__(self, sent: QueryDict, *, check: Check) -> None:
        super().__init__(sent)
        self.asked = check
        codes = [str(comment.code) for comment in check.corrections]
        self.fields["focus"].choices = [(code, code) for code in codes]  # type: ignore[attr-defined]
        for question in check.questions:
            choices = [(choice.value, choice.word) for choice in question.choices]
            self.fields[question.field] = forms.ChoiceField(choices=choices, required=False)

    @property
    def act_asked(self) -> Act:
        return self.Act(self.cleaned_data["act"] or self.Act.PUBLISH)

    def answers(self) -> dict[Key, str]:
        return answers_among(self.asked.questions, self.cleaned_data)

    def focus_chosen(self) -> Comment | None:
        chosen = self.cleaned_data["focus"]
        return next((one for one in self.asked.corrections if str(one.code) == chosen), None)


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
    staff_note = forms.CharField(
        label=_("Note for staff alone"),
        max_length=2000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, sent: QueryDict | None, *, stroke: str, club: Club) -> None:
        super().__init__(sent, initial=None)
        words = Words.of(club)
        points = words.offered(choosing.checkpoints(stroke, club))
        faults = words.offered(choosing.faults(stroke, club))
        drills = words.offered(choosing.fitting(Drill.objects.all(), stroke, club))
        self.fields["seen"].choices = [  # type: ignore[attr-defined]
            ("", _("choose")),
            (
                _("Going well"),
                [(f"good:{point.slug}", point.name) for point in points],
            ),
            (
                _("To work on"),
                [(f"work:{fault.slug}", fault.name) for fault in faults],
            ),
        ]
        self.fields["drill"].choices = [  # type: ignore[attr-defined]
            ("", _("no drill")),
            *((drill.slug, drill.name) for drill in drills),
        ]

    def said(self) -> Fields:
        data = self.cleaned_data
        kind, _colon, slug = data["seen"].partition(":")
        correction = Verdict.NOT_LEGAL if data["not_legal"] else Verdict.WORK_ON
        verdict = Verdict.GOOD if kind == "good" else correction
        said = Fields(verdict=verdict, tag=slug, words=data["words"].strip())
        said["staff_note"] = data["staff_note"].strip()
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
