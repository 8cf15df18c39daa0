"""Who is booking: a new client, or one whom the studio knows, without telling the person at the form which."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils.translation import gettext as _

from intake.folding import fold
from intake.models import Bike, Client
from intake.models.clients import LengthUnit


@dataclass(frozen=True)
class RiderDetails:
    """What a rider says about themselves."""

    name: str
    email: str
    latin_name: str = ""
    phone: str = ""
    length_unit: str = LengthUnit.MILLIMETRE


@dataclass(frozen=True)
class BikeDetails:
    """What a rider says about the bike that they will bring."""

    name: str
    kind: str


def same_person(client: Client, details: RiderDetails) -> bool:
    """Return whether e-mail and name agree, however they are capitalised, spaced and accented."""
    return client.email.casefold() == details.email.casefold() and fold(client.name) == fold(details.name)


@transaction.atomic
def client_for(details: RiderDetails, *, today: date) -> Client:
    """Return the client whom these details name, or a new one; ``today`` is the day where the studio is.

    Only the same name with the same e-mail counts as the same person: a family may share an address. What is known and left out
    now stays; a new telephone number takes the place of the old one, which is kept in the notes.
    """
    for client in Client.objects.filter(email__iexact=details.email).order_by("pk"):
        if same_person(client, details):
            return _brought_up_to_date(client, details, today)
    return Client.objects.create(
        name=details.name,
        latin_name=details.latin_name,
        email=details.email,
        phone=details.phone,
        length_unit=details.length_unit,
    )


def _brought_up_to_date(client: Client, details: RiderDetails, today: date) -> Client:
    if details.phone and client.phone and details.phone != client.phone:
        words = {"day": today.isoformat(), "number": client.phone.as_international}
        earlier = _("Telephone until %(day)s: %(number)s") % words
        client.notes = f"{client.notes}\n{earlier}".strip()
    client.phone = details.phone or client.phone
    client.latin_name = details.latin_name or client.latin_name
    client.length_unit = details.length_unit
    client.save(update_fields=["phone", "latin_name", "length_unit", "notes"])
    return client


def bike_for(client: Client, details: BikeDetails) -> Bike:
    """Return a new bike of this client.

    Always a new one: a stranger who guesses a name and an address must not be shown what is known of somebody's bike.
    The desk, which knows whom it talks to, books a bike that is there already.
    """
    return Bike.objects.create(client=client, name=details.name, kind=details.kind)
