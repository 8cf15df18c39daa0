"""What an owner types about a studio and its services, and what of it cannot be."""

import zoneinfo
from typing import Any

import holidays
import phonenumbers
from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.utils.translation import gettext_lazy as _

from sessions.models import Service, Studio
from sessions.models.studios import ADJUSTMENT_LABELS

GRIDS_MIN = (5, 10, 15, 20, 30, 60)
LEAST_HORIZON_DAYS, MOST_HORIZON_DAYS = 1, 400


class CapitalsField(forms.CharField):
    """A code of capital letters, typed in any case."""

    def to_python(self, value: Any) -> str:
        """Return the code in capitals."""
        return super().to_python(value).upper()


class StudioForm(forms.ModelForm):
    """A studio in a place that exists: its zone from the world's list, a known country, a region with holidays of its own."""

    time_zone = forms.ChoiceField(label=_("Time zone"), help_text=_("Every time on the pages is shown in it."))
    country = CapitalsField(
        label=_("Country"),
        max_length=2,
        help_text=_("Two letters such as GB or US: for public holidays and telephone numbers."),
    )
    region = CapitalsField(
        label=_("Region for public holidays"),
        max_length=10,
        required=False,
        help_text=_("Where holidays differ within the country, such as SCT for Scotland. Empty for the whole country."),
    )
    grid_min = forms.TypedChoiceField(
        label=_("Minutes from one start to the next"), choices=[(step, str(step)) for step in GRIDS_MIN], coerce=int
    )
    currency = CapitalsField(
        label=_("Currency"),
        max_length=3,
        help_text=_("Three letters such as GBP, EUR or USD."),
        validators=[RegexValidator(r"^[A-Z]{3}\Z", _("Write the currency in three letters, such as GBP."))],
    )

    class Meta:
        model = Studio
        fields = "__all__"  # noqa: DJ007 - the admin's fieldsets choose
        widgets = {"address": forms.Textarea(attrs={"rows": 3}), "welcome": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "slug": _("Small letters and hyphens: /book/this-part/…"),
            "welcome": _("Who you are and what to bring, in a sentence or two."),
            "email": _("Riders’ answers to mails arrive here."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Offer every zone that this machine knows, and read telephone numbers as they are dialled in the country."""
        super().__init__(*args, **kwargs)
        zone = self.fields["time_zone"]
        zone.choices = [(name, name) for name in sorted(zoneinfo.available_timezones())]
        for name in ("time_zone", "country", "currency", "grid_min"):
            self.fields[name].initial = Studio._meta.get_field(name).default  # noqa: SLF001 - Django's own documented way
        country = str(self["country"].value() or "").upper()
        if country in phonenumbers.SUPPORTED_REGIONS:
            self.fields["phone"].region = country
        horizon = _("Choose %d to %d days.") % (LEAST_HORIZON_DAYS, MOST_HORIZON_DAYS)
        self.fields["horizon_days"].validators += [
            MinValueValidator(LEAST_HORIZON_DAYS, horizon),
            MaxValueValidator(MOST_HORIZON_DAYS, horizon),
        ]

    def clean_country(self) -> str:
        """Refuse letters that stand for no country."""
        country = self.cleaned_data["country"]
        if country not in phonenumbers.SUPPORTED_REGIONS:
            raise ValidationError(
                _("“%(country)s” is no country. Write two letters, such as GB or US."), params={"country": country}
            )
        return str(country)

    def clean_region(self) -> str:
        """Refuse a region whose holidays are not known, and name those that are."""
        region, country = self.cleaned_data["region"], self.cleaned_data.get("country")
        known = holidays.list_supported_countries().get(country, []) if country else [region]
        if region and region not in known:
            words = (
                _("“%(region)s” is not known there. Leave it empty, or choose from %(known)s.")
                if known
                else _("Holidays are the same everywhere in that country. Leave this empty.")
            )
            raise ValidationError(words, params={"region": region, "known": ", ".join(known)})
        return str(region)


class ServiceForm(forms.ModelForm):
    """A service whose essential adjustments are ticked, not typed."""

    essential = forms.MultipleChoiceField(
        label=_("Essential adjustments"),
        required=False,
        choices=[(key.value, label) for key, label in ADJUSTMENT_LABELS.items()],
        widget=forms.CheckboxSelectMultiple,
        help_text=_("What this service must be able to move. If one of them is locked, the bike is to be fixed first."),
    )

    class Meta:
        model = Service
        fields = "__all__"  # noqa: DJ007 - the admin's fieldsets choose
        widgets = {"purpose": forms.Textarea(attrs={"rows": 4})}
        help_texts = {
            "slug": _("Small letters and hyphens: /book/…/this-part/"),
            "purpose": _("For whom and for what, as a rider reads it on the public page."),
            "slack_min": _("Minutes of the slot that mechanical work may take before the fitting suffers."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Say beside the field what the database would refuse."""
        super().__init__(*args, **kwargs)
        least = {"price": (0, _("A price cannot be negative.")), "planned_min": (5, _("Plan at least five minutes."))}
        for name, (lowest, words) in least.items():
            self.fields[name].validators.append(MinValueValidator(lowest, words))
