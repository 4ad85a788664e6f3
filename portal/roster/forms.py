"""What a head coach types about people, and what the invited type. Errors say what to do."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from portal.doorway.forms import TypeCodeForm
from portal.people.models import Squad
from portal.roster import parsing, wording
from portal.roster.dating import Order
from portal.roster.parsing import Named

LONG = parsing.LONGEST_NAME


def day_field(label: Any, **more: Any) -> forms.DateField:  # noqa: ANN401 - the framework's own
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "required": gettext_lazy("The day is missing. Choose one."),
            "invalid": gettext_lazy("This is no day. Write it as 2026-05-03."),
        },
        **more,
    )


def part_field(label: Any) -> forms.CharField:  # noqa: ANN401 - the framework's own
    return forms.CharField(
        label=label,
        max_length=parsing.LONGEST_PART,
        error_messages={"required": gettext_lazy("The name is missing. Write it in.")},
    )


def address_field(label: Any, **more: Any) -> forms.EmailField:  # noqa: ANN401 - the framework's own
    return forms.EmailField(
        label=label,
        max_length=parsing.LONGEST_ADDRESS,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
        error_messages={
            "required": gettext_lazy("The address is missing. It looks like name@example.org."),
            "invalid": gettext_lazy("This is not a whole address. It looks like name@example.org."),
        },
        **more,
    )


class DayForm(forms.Form):
    """From when on something holds."""

    day = day_field(gettext_lazy("From"))


class NamesForm(forms.Form):
    first_name = part_field(gettext_lazy("First name"))
    last_name = part_field(gettext_lazy("Last name"))
    born = day_field(gettext_lazy("Born"))

    def __init__(self, data: QueryDict | None = None, *, today: date, **more: Any) -> None:  # noqa: ANN401 - as forms have them
        super().__init__(data, **more)
        self.today = today

    def clean_first_name(self) -> str:
        return parsing.tidy(self.cleaned_data["first_name"])

    def clean_last_name(self) -> str:
        return parsing.tidy(self.cleaned_data["last_name"])

    def clean_born(self) -> date:
        born: date = self.cleaned_data["born"]
        if fault := parsing.implausible(born, today=self.today):
            words = str(wording.FAULTS[fault])
            raise forms.ValidationError(words % {"born": born.isoformat()})
        return born


class GuardianForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Name"),
        max_length=LONG,
        error_messages={"required": gettext_lazy("The name is missing. Write it in.")},
    )
    address = address_field(gettext_lazy("E-mail"))

    def named(self) -> Named:
        given = self.cleaned_data
        return Named(parsing.tidy(given["name"]), given["address"].lower())


class NewcomerForm(NamesForm):
    guardian_1_name = forms.CharField(
        label=gettext_lazy("Guardian’s name"), max_length=LONG, required=False
    )
    guardian_1_address = address_field(gettext_lazy("Guardian’s e-mail"), required=False)
    guardian_2_name = forms.CharField(
        label=gettext_lazy("Another guardian’s name"), max_length=LONG, required=False
    )
    guardian_2_address = address_field(gettext_lazy("Their e-mail"), required=False)
    day = day_field(gettext_lazy("Swims here from"))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for number in (1, 2):
            name, address = f"guardian_{number}_name", f"guardian_{number}_address"
            if data.get(name) and not data.get(address) and address not in self.errors:
                self.add_error(address, _("Write the address too, or leave both empty."))
            if data.get(address) and not data.get(name):
                self.add_error(name, _("Write the name too, or leave both empty."))
        one, other = (data.get(f"guardian_{n}_address", "").lower() for n in (1, 2))
        if one and one == other:
            self.add_error("guardian_2_address", str(wording.FAULTS[parsing.Fault.SAME_ADDRESS]))
        return data

    def guardians(self) -> tuple[Named, ...]:
        given = self.cleaned_data
        return tuple(
            Named(
                parsing.tidy(given[f"guardian_{n}_name"]),
                given[f"guardian_{n}_address"].lower(),
            )
            for n in (1, 2)
            if given[f"guardian_{n}_name"]
        )


class MoveForm(DayForm):
    squad = forms.ModelChoiceField(
        Squad.objects.none(), label=gettext_lazy("Squad"), to_field_name="code", empty_label=None
    )
    keeps = forms.BooleanField(
        label=gettext_lazy("and stays in the other squads, too"), required=False
    )

    def __init__(self, data: QueryDict | None = None, *, club: int, **more: Any) -> None:  # noqa: ANN401 - as forms have them
        super().__init__(data, **more)
        squads = Squad.objects.filter(club=club).select_related("club")
        self.fields["squad"].queryset = squads  # type: ignore[attr-defined]


class AddressForm(forms.Form):
    address = address_field(gettext_lazy("E-mail"))


class ListForm(forms.Form):
    """A pasted list or a file of one; of both, the file counts."""

    text = forms.CharField(
        label=gettext_lazy("The list"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "wrap": "off"}),
    )
    file = forms.FileField(
        label=gettext_lazy("or a CSV file"),
        required=False,
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv"}),
    )
    order = forms.ChoiceField(
        label=gettext_lazy("Which comes first?"),
        required=False,
        choices=[
            ("", gettext_lazy("not said")),
            (Order.DAY_FIRST.value, gettext_lazy("the day")),
            (Order.MONTH_FIRST.value, gettext_lazy("the month")),
        ],
    )

    def list_text(self) -> str:
        """Raises parsing.Unreadable."""
        file = self.cleaned_data["file"]
        if file is None:
            text: str = self.cleaned_data["text"]
            return text
        if file.size > parsing.MOST_BYTES:
            raise parsing.Unreadable(parsing.Trouble.TOO_LONG)
        return parsing.text_of(file.read())

    def day_order(self) -> Order | None:
        said = self.cleaned_data.get("order")
        return Order(said) if said else None


class YearForm(forms.Form):
    year = forms.RegexField(
        r"^\s*\d{4}\s*$",
        label=gettext_lazy("Year the swimmer was born"),
        max_length=8,
        help_text=gettext_lazy(
            "Your child’s, or your own if you are the swimmer. Asked once, so that a mistyped"
            " address opens nothing."
        ),
        error_messages={
            "required": gettext_lazy("The year is missing. It has four digits."),
            "invalid": gettext_lazy("A year has four digits, as in 2013."),
        },
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )

    def clean_year(self) -> int:
        return int(self.cleaned_data["year"])


class WelcomeForm(YearForm, TypeCodeForm):
    """The code and the year; whether they are right is asked of both together."""

    field_order = ("code", "year")

    def clean_code(self) -> str:
        code: str = self.cleaned_data["code"]
        return code
