"""What the pages of a club's own words ask."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from portal.technique.models import Checkpoint, Drill, Fault, Phase, RuleBook, Stroke, Term
from portal.technique.wording import MOST_OF_A_MONTH, Words

STROKES = [("any", _("any stroke")), *Stroke.choices]
Choices = list[tuple[str, list[tuple[str, str]]]]


def by_phase(terms: Iterable[Term]) -> Choices:
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for term in terms:
        found[term.phase].append((term.slug, term.name))
    return [
        (str(Phase(slug).label), sorted(found[slug], key=lambda pair: pair[1]))
        for slug in Phase.values
        if slug in found
    ]


class BookForm(forms.Form):
    rule_book = forms.ChoiceField(
        label=_("Rule book"),
        choices=RuleBook.choices,
        help_text=_("Its article is shown first wherever a rule is named."),
    )


class RewordForm(forms.Form):
    """What is left empty stays as everybody says it."""

    name = forms.CharField(label=_("Our name for it"), max_length=80, required=False)
    is_hidden = forms.BooleanField(
        label=_("Leave it out: it is not offered to our coaches"), required=False
    )


class RewordFaultForm(RewordForm):
    cue = forms.CharField(label=_("Our cue"), max_length=160, required=False)
    cue_young = forms.CharField(label=_("Our cue for the young"), max_length=160, required=False)
    drill = forms.ChoiceField(label=_("Our first drill"), required=False)
    other_drill = forms.ChoiceField(label=_("Our second drill"), required=False)
    field_order = ("name", "cue", "cue_young", "drill", "other_drill", "is_hidden")

    def __init__(self, data: Any = None, *, words: Words, initial: Mapping[str, Any]) -> None:  # noqa: ANN401
        super().__init__(data, initial={**initial})
        _offer_drills(self, words, without=_("as everybody"))

    def clean(self) -> dict[str, Any]:
        return _with_drills(super().clean() or {})


def _offer_drills(form: forms.Form, words: Words, *, without: str | Promise) -> None:
    drills = by_phase(words.offered(words.terms(Drill.objects.all())))
    for name in ("drill", "other_drill"):
        form.fields[name].choices = [("", without), *drills]  # type: ignore[attr-defined]


def _with_drills(said: dict[str, Any]) -> dict[str, Any]:
    chosen = [said.pop("drill", ""), said.pop("other_drill", "")]
    return {**said, "drills": [slug for slug in chosen if slug]}


class OwnForm(forms.Form):
    name = forms.CharField(label=_("Name"), max_length=80)
    strokes = forms.MultipleChoiceField(
        label=_("Strokes"), choices=STROKES, widget=forms.CheckboxSelectMultiple
    )
    phase = forms.ChoiceField(label=_("Part of the swim"), choices=Phase.choices)

    def clean_name(self) -> str:
        return str(self.cleaned_data["name"]).strip()

    def clean_strokes(self) -> str:
        return f" {' '.join(self.cleaned_data['strokes'])} "


class OwnCheckpointForm(OwnForm):
    good = forms.CharField(
        label=_("What good looks like"), max_length=400, widget=forms.Textarea(attrs={"rows": 3})
    )


class OwnDrillForm(OwnForm):
    how = forms.CharField(
        label=_("How it is swum"),
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("Cautions for breath, dives and knees are put beside it by themselves."),
    )
    dose = forms.CharField(label=_("Usual amount"), max_length=40, initial="4 x 25")
    equipment = forms.CharField(label=_("With"), max_length=40, required=False)


class OwnFaultForm(OwnForm):
    checkpoint = forms.ChoiceField(label=_("The checkpoint that it misses"))
    see = forms.CharField(
        label=_("What is seen"), max_length=400, widget=forms.Textarea(attrs={"rows": 2})
    )
    cost = forms.CharField(label=_("What it costs"), max_length=300)
    cue = forms.CharField(label=_("Cue"), max_length=160)
    cue_young = forms.CharField(label=_("Cue for the young"), max_length=160)
    severity = forms.ChoiceField(label=_("How much it matters"), choices=Fault.Severity.choices)
    also = forms.CharField(
        label=_("What people also say, one on a line"),
        max_length=600,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    drill = forms.ChoiceField(label=_("Drill"), required=False)
    other_drill = forms.ChoiceField(label=_("Another drill"), required=False)

    def __init__(
        self,
        data: Any = None,  # noqa: ANN401
        *,
        words: Words,
        initial: Mapping[str, Any] | None = None,
        every_drill: bool = False,
    ) -> None:
        """`every_drill`: `drills` is a list of any length, as a file has it."""
        super().__init__(data, initial={**(initial or {})})
        self.points = {
            point.slug: point for point in words.offered(words.terms(Checkpoint.objects.all()))
        }
        self.fields["checkpoint"].choices = by_phase(self.points.values())  # type: ignore[attr-defined]
        _offer_drills(self, words, without=_("none"))
        if every_drill:
            drills = self.fields["drill"].choices  # type: ignore[attr-defined]
            self.fields["drills"] = forms.MultipleChoiceField(choices=drills, required=False)

    def clean_checkpoint(self) -> Checkpoint:
        return self.points[self.cleaned_data["checkpoint"]]

    def clean_also(self) -> list[str]:
        lines = self.cleaned_data["also"].splitlines()
        return [line.strip() for line in lines if line.strip()]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if "drills" not in self.fields:
            return _with_drills(said)
        return {key: said[key] for key in said if key not in ("drill", "other_drill")}


class MonthForm(forms.Form):
    """Seven places, so that the list stays short."""

    def __init__(self, data: Any = None, *, words: Words, chosen: list[str]) -> None:  # noqa: ANN401
        super().__init__(data)
        points = by_phase(words.offered(words.terms(Checkpoint.objects.all())))
        for place in range(MOST_OF_A_MONTH):
            self.fields[f"place{place}"] = forms.ChoiceField(
                label=_("Checkpoint %(number)s") % {"number": place + 1},
                choices=[("", _("none")), *points],
                required=False,
                initial=chosen[place] if place < len(chosen) else "",
            )

    def slugs(self) -> list[str]:
        found = [self.cleaned_data[name] for name in self.fields]
        return list(dict.fromkeys(slug for slug in found if slug))
