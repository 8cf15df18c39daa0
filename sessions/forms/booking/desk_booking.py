"""What the desk chooses and types when it books for a caller."""

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from intake.edge.fields import SearchField
from intake.models import Bike, Client
from sessions.forms.booking.rider import BookingForm
from sessions.models import Bay, Fitter, Service, Studio
from sessions.services.booking.riders import BikeDetails, RiderDetails

ABOUT_THE_RIDER = ("name", "latin_name", "email", "phone", "length_unit")
ABOUT_THE_BIKE = ("bike_kind", "bike_name")

# The rider's own form speaks to the rider; at the desk somebody else reads it.
WORDS_AT_THE_DESK = {
    "name": (_("Name"), ""),
    "latin_name": (_("Name in Latin letters"), _("Only for a name in another script: it is printed beside it.")),
    "email": (_("E-mail"), _("The confirmation and the private page go there.")),
    "phone": (_("Telephone"), _("From another country, with + and its code.")),
    "bike_name": (_("Make and model, or what the rider calls it"), ""),
    "wish": (_("What does the rider hope for?"), ""),
}
MISSED_AT_THE_DESK = {
    "name": _("Enter the rider’s name, as they write it themselves."),
    "email": _("Enter the rider’s e-mail address."),
    "bike_name": _("Say which bike the rider will bring."),
}


class CallerForm(forms.Form):
    """Whom the desk is looking for, and whom it has found."""

    mark_optional = False
    q = SearchField(label=_("Name, e-mail or telephone"))
    client = forms.ModelChoiceField(Client.objects.all(), required=False, widget=forms.HiddenInput)

    def __init__(self, data: QueryDict) -> None:
        """Let the desk type at once while nobody is found yet."""
        super().__init__(data)
        if not data.get("client"):
            self.fields["q"].widget.attrs["autofocus"] = True


def fitter_field(studio: Studio) -> forms.ModelChoiceField:
    """Return the choice of a fitter."""
    field = forms.ModelChoiceField(
        Fitter.objects.filter(studio=studio, is_active=True),
        label=_("Fitter"),
        required=False,
        empty_label=_("whoever is free"),
        error_messages={"invalid_choice": _("This fitter takes no bookings here. Choose another one.")},
    )
    field.mark_optional = False
    return field


def bay_field(studio: Studio) -> forms.ModelChoiceField:
    """Return the choice of a bay."""
    field = forms.ModelChoiceField(
        Bay.objects.filter(studio=studio, is_active=True),
        label=_("Bay"),
        required=False,
        empty_label=_("any"),
        error_messages={"invalid_choice": _("This bay is not in use here. Choose another one.")},
    )
    field.mark_optional = False
    return field


class PlaceForm(forms.Form):
    """For whom, with whom and where, when only some starts are to be shown."""

    mark_optional = False
    client = forms.ModelChoiceField(Client.objects.all(), required=False, widget=forms.HiddenInput)

    def __init__(self, *args: object, studio: Studio, **kwargs: object) -> None:
        """Offer who works at this studio and the bays in use."""
        super().__init__(*args, **kwargs)
        self.fields["fitter"] = fitter_field(studio)
        self.fields["bay"] = bay_field(studio)

    def named(self) -> dict[str, int | None]:
        """Return who and which bay is asked for; nobody where the address names somebody unknown."""
        return {f"{name}_id": row.pk if (row := self._given(name)) else None for name in ("fitter", "bay")}

    def caller(self) -> Client | None:
        """Return the client whom an address names, None where nobody is known by it."""
        return self._given("client")

    def _given(self, name: str) -> Client | Fitter | Bay | None:
        self.is_valid()
        return self.cleaned_data.get(name)


class DeskBookingForm(BookingForm):
    """The rider's form as the desk fills it in: for a known client or a new one, with a named fitter or bay if wanted."""

    def __init__(self, *args: object, service: Service, client: Client | None, **kwargs: object) -> None:
        """Leave out what is known of the client, and let one of their bikes be chosen."""
        super().__init__(*args, studio=service.studio, **kwargs)
        for name, (label, help_text) in WORDS_AT_THE_DESK.items():
            self.fields[name].label, self.fields[name].help_text = label, help_text
        for name, words in MISSED_AT_THE_DESK.items():
            self.fields[name].error_messages["required"] = words
        self.fields["fitter"] = fitter_field(service.studio)
        self.fields["bay"] = bay_field(service.studio)
        self.client = client
        if client is not None:
            self._know(client)

    def _know(self, client: Client) -> None:
        for name in ABOUT_THE_RIDER:
            del self.fields[name]
        self.fields["client"] = forms.ModelChoiceField(
            Client.objects.filter(pk=client.pk), widget=forms.HiddenInput, initial=client.pk
        )
        bikes = client.bikes.order_by("-pk")
        if not bikes:
            return
        self.fields["bike"] = forms.ModelChoiceField(
            bikes,
            label=_("Which bike?"),
            required=False,
            blank=True,
            empty_label=_("Another bike"),
            initial=bikes[0].pk,
            widget=forms.RadioSelect,
            error_messages={"invalid_choice": _("This bike is not one of this rider’s. Choose again.")},
        )
        self.fields["bike"].mark_optional = False
        for name in ABOUT_THE_BIKE:
            self.fields[name].required = False

    def clean(self) -> dict[str, object]:
        """Ask for a new bike's facts only where no known bike was chosen."""
        given = super().clean() or self.cleaned_data
        if "bike" in self.fields and not given.get("bike") and not self.has_error("bike"):
            for name in ABOUT_THE_BIKE:
                if not given.get(name) and not self.has_error(name):
                    self.add_error(name, self.fields[name].error_messages["required"])
        return given

    def rider(self) -> RiderDetails | Client:
        """Return the known client, or what was typed about a new one."""
        return self.client or super().rider()

    def bike(self) -> BikeDetails | Bike:
        """Return the chosen bike, or what was typed about a new one."""
        return self.cleaned_data.get("bike") or super().bike()

    def named(self) -> dict[str, int | None]:
        """Return the fitter and the bay that were asked for."""
        return {f"{name}_id": row.pk if (row := self.cleaned_data.get(name)) else None for name in ("fitter", "bay")}
