"""What the club's own pages ask. Errors say what happened and what to do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from portal.clubhouse import opening
from portal.people.models import RAW_DAYS, Club, Membership, Season, Squad, User
from portal.recordings.models import Pool

# A browser takes no other form of a day into such a field.
DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class SettingsForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Club
        fields = (
            *("name", "zone", "course", "digest_weekday", "digest_time", "shows_contacts"),
            *("film_gigabytes", "raw_days", "raw_days_reason"),
        )
        widgets = {"digest_time": forms.TimeInput(attrs={"type": "time"}, format="%H:%M")}

    def clean_zone(self) -> str:
        try:
            return opening.check_zone(self.cleaned_data["zone"])
        except opening.Impossible as error:
            raise forms.ValidationError(str(error)) from error

    def clean_raw_days_reason(self) -> str:
        reason: str = self.cleaned_data["raw_days_reason"].strip()
        if self.cleaned_data.get("raw_days", RAW_DAYS) > RAW_DAYS and not reason:
            raise forms.ValidationError(
                _("Say why film is kept for longer than %(days)d days, or give fewer days.")
                % {"days": RAW_DAYS}
            )
        return reason


class OfClub(forms.ModelForm):  # type: ignore[type-arg]
    """A thing of one club; names are unique within it."""

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        club: Club,
        instance: Any = None,  # noqa: ANN401
    ) -> None:
        super().__init__(data, instance=instance or self._meta.model(club=club))
        self.club = club

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        same = self._meta.model.objects.filter(club=self.club, name__iexact=name)
        if same.exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(
                _("There is a “%(name)s” already. Take another name.") % {"name": name}
            )
        return name


class SeasonForm(OfClub):
    class Meta:
        model = Season
        fields = ("name", "starts", "ends")
        widgets = {"starts": DAY, "ends": DAY}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        starts, ends = given.get("starts"), given.get("ends")
        if starts and ends and ends <= starts:
            self.add_error("ends", _("The season ends before it begins. Turn the days round."))
        elif starts and ends:
            others = self.club.seasons.exclude(pk=self.instance.pk)
            crossing = others.filter(starts__lte=ends, ends__gte=starts).first()
            if crossing:
                self.add_error(
                    "starts",
                    _("It crosses the season %(name)s. Let one end before the other begins.")
                    % {"name": crossing},
                )
        return given


class PoolForm(OfClub):
    class Meta:
        model = Pool
        fields = ("name", "course")


class SquadForm(OfClub):
    class Meta:
        model = Squad
        fields = ("name", "second_adult")
        labels = {"second_adult": _("second adult, who reads whatever is published")}

    def __init__(self, *args: Any, **values: Any) -> None:  # noqa: ANN401 - as above
        super().__init__(*args, **values)
        known = User.objects.filter(memberships__club=self.club, is_active=True)
        current = User.objects.filter(openness_squads__club=self.club)
        field: forms.ModelChoiceField[User] = self.fields["second_adult"]  # type: ignore[assignment]
        field.queryset = (known | current).distinct().order_by("name")
        field.empty_label = str(_("nobody yet"))
        field.help_text = str(
            _("Nothing is published without one. Somebody not in the list? Enter their address.")
        )
        self.fields["second_adult_name"] = forms.CharField(
            label=_("or somebody new: name"), required=False, max_length=120
        )
        self.fields["second_adult_email"] = forms.EmailField(
            label=_("and e-mail"), required=False, max_length=254
        )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        address, name = given.get("second_adult_email"), given.get("second_adult_name")
        if address and not name:
            self.add_error("second_adult_name", _("Say who that is."))
        if name and not address and "second_adult_email" not in self.errors:
            self.add_error("second_adult_email", _("Type the address to which a code can go."))
        chosen = given.get("second_adult")
        email = (address or (chosen.email if chosen else "")).strip().lower()
        if email and self._coaches(email):
            self.add_error(
                "second_adult_email" if address else "second_adult",
                _("They coach this squad themselves. The second adult is somebody else."),
            )
        return given

    def _coaches(self, email: str) -> bool:
        """Whoever writes cannot be the one who reads along; an end to come counts as none."""
        members = Membership.objects.filter(club=self.club, user__email=email, ends=None)
        return bool(self.instance.pk) and members.filter(squad=self.instance).exists()

    def save(self, commit: bool = True) -> Squad:  # noqa: FBT001, FBT002 - Django's signature
        given = self.cleaned_data
        if given.get("second_adult_email"):
            self.instance.second_adult = User.objects.of_address(
                given["second_adult_email"], name=given["second_adult_name"]
            )
        squad: Squad = super().save(commit=commit)
        return squad


class RoleForm(forms.Form):
    name = forms.CharField(label=_("Name"), max_length=120)
    address = forms.EmailField(label=_("E-mail"), max_length=254)
    role = forms.ChoiceField(
        label=_("Part in the club"), choices=[("", _("choose")), *Membership.Role.choices]
    )
    squad = forms.ModelChoiceField(
        queryset=Squad.objects.none(),
        label=_("Squad, for a coach or an assistant"),
        required=False,
        to_field_name="code",
        empty_label=_("the whole club"),
    )

    def __init__(self, club: Club, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        self.fields["squad"].queryset = club.squads.all()  # type: ignore[attr-defined]
