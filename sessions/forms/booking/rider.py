"""The form in which a rider, or the desk for a caller, books a chosen start."""

import phonenumbers
from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _
from phonenumber_field.formfields import PhoneNumberField

from intake.edge.people import LatinField, NameField
from intake.models.bikes import KIND_CHOICES
from intake.models.clients import LengthUnit
from sessions.forms.fields import StartField
from sessions.forms.keyed import KeyedForm
from sessions.forms.starts import StartMixin
from sessions.models import Studio
from sessions.services.booking.errors import DiaryRefusal
from sessions.services.booking.riders import BikeDetails, RiderDetails

LONGEST_WISH = 2000
INCH_COUNTRIES = ("US",)


def phone_region(studio: Studio) -> str | None:
    """Return whose numbering plan a number without a country code follows."""
    country = studio.country.upper()
    return country if country in phonenumbers.SUPPORTED_REGIONS else None


class BookingForm(StartMixin, KeyedForm):
    """Who comes, with which bike, to which start. ``request_key`` names the form, so that sent twice it books once."""

    start = StartField(label=_("Choose another time"))
    name = NameField(
        label=_("Your name"),
        max_length=200,
        error_messages={"required": _("Enter your name, as you write it yourself.")},
        widget=forms.TextInput(attrs={"autocomplete": "name", "dir": "auto"}),
    )
    latin_name = LatinField(
        label=_("Your name in Latin letters"),
        max_length=200,
        required=False,
        help_text=_("It is printed beside your name as you write it."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    email = forms.EmailField(
        label=_("E-mail"),
        max_length=254,
        help_text=_("The confirmation and your private page go there."),
        error_messages={
            "required": _("Enter your e-mail address."),
            "invalid": _("Enter an e-mail address such as name@example.org."),
        },
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    phone = PhoneNumberField(
        label=_("Telephone"),
        required=False,
        help_text=_("Only for this session. From another country, begin with + and its code."),
        error_messages={
            "invalid": _("That number cannot be called. Write it as you would dial it, or with + and the country code.")
        },
    )
    bike_kind = forms.ChoiceField(
        label=_("Kind of bike"),
        choices=[(kind, capfirst(label)) for kind, label in KIND_CHOICES],
        error_messages={"required": _("Choose the kind that comes closest.")},
        widget=forms.RadioSelect(attrs={"class": "kinds"}),
    )
    bike_name = NameField(
        label=_("Make and model, or what you call it"),
        max_length=120,
        error_messages={"required": _("Say which bike you will bring.")},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    length_unit = forms.ChoiceField(
        label=_("Show lengths in"),
        choices=[(unit, capfirst(label)) for unit, label in LengthUnit.choices],
        error_messages={"required": _("Choose millimetres or inches.")},
        widget=forms.RadioSelect(attrs={"class": "inline"}),
    )
    wish = forms.CharField(
        label=_("What do you hope for from the session?"),
        max_length=LONGEST_WISH,
        required=False,
        help_text=_("What hurts or goes numb, what you train for, what has changed. You will be asked more later."),
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: object, studio: Studio, **kwargs: object) -> None:
        """Read telephone numbers as they are dialled where the studio is."""
        initial = {"length_unit": "in" if studio.country in INCH_COUNTRIES else "mm"}
        super().__init__(*args, initial=initial | kwargs.pop("initial", {}), **kwargs)
        self.fields["phone"].region = phone_region(studio) or self.fields["phone"].region

    def rider(self) -> RiderDetails:
        """Return what a valid form says about the rider."""
        given = self.cleaned_data
        phone = given["phone"].as_e164 if given["phone"] else ""
        return RiderDetails(given["name"], given["email"], given["latin_name"], phone, given["length_unit"])

    def bike(self) -> BikeDetails:
        """Return what a valid form says about the bike."""
        return BikeDetails(self.cleaned_data["bike_name"], self.cleaned_data["bike_kind"])

    def asked(self) -> dict[str, object]:
        """Return what a valid form asks to be booked."""
        given = self.cleaned_data
        return {
            "start": given["start"],
            "rider": self.rider(),
            "bike": self.bike(),
            "request_key": str(given["request_key"]),
            "wish": given["wish"],
            **self.named(),
        }

    def named(self) -> dict[str, int | None]:
        """Return the fitter and the bay that were asked for by name: riders take whoever is free."""
        return {}

    def key_refused(self, refusal: DiaryRefusal) -> None:
        """Say that this form has booked already."""
        self.add_error("request_key", str(refusal))


class PublicBookingForm(BookingForm):
    """The booking form on the public page, with a field that only a robot fills in."""

    leave_empty = forms.CharField(
        label=_("Leave this field empty"),
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "tabindex": "-1"}),
    )

    def clean_leave_empty(self) -> str:
        """Refuse whatever stands in it, in words that a person can follow."""
        if self.cleaned_data["leave_empty"]:
            raise forms.ValidationError(_("Please clear this field: it is there to stop robots."))
        return ""
