"""An owner sets up a studio: what cannot be is said beside the field, in words, and a place is one that exists."""

import pytest
from django.urls import reverse

from sessions.admin.studio_forms import ServiceForm, StudioForm
from sessions.models import Studio
from tests import factories

pytestmark = pytest.mark.django_db


def typed(**changes):
    """What an owner types about a studio in New York."""
    return {
        "name": "Κύκλος & Sons",
        "slug": "kyklos",
        "time_zone": "America/New_York",
        "country": "US",
        "region": "",
        "email": "hello@kyklos.example",
        "phone": "(212) 736-5000",
        "currency": "USD",
        "paper": "Letter",
        "grid_min": 30,
        "notice_hours": 24,
        "horizon_days": 60,
        "least_chance": 0.75,
        "ask_gain": 0.2,
        "unsure_locked": 0.25,
        "probably_locked": 0.5,
        "reckoned_from": 0.02,
        "is_active": "on",
    } | changes


def test_a_studio_abroad():
    """Its telephone number is read as it is dialled there; codes may be typed small."""
    form = StudioForm(typed(country="us", currency="usd", region="ny"))
    assert form.is_valid(), form.errors
    studio = form.save()
    assert (studio.country, studio.region, studio.currency) == ("US", "NY", "USD")
    assert studio.phone.as_e164 == "+12127365000"


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("country", "XX", "“XX” is no country"),
        ("country", "", "required"),
        ("country", "\x00\x00", "Null characters"),
        ("region", "NOWHERE", "choose from AK, AL"),
        ("currency", "12", "three letters"),
        ("currency", "DM", "three letters"),
        ("horizon_days", "0", "Choose 1 to 400 days"),
        ("horizon_days", "9999", "Choose 1 to 400 days"),
        ("grid_min", "7", "Select a valid choice"),
        ("time_zone", "Mars/Olympus", "Select a valid choice"),
        ("least_chance", "5", "less than or equal to 1"),
        ("phone", "12", "valid phone number"),
        ("name", "n" * 121, "at most 120"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(field, value, words):
    """Nothing reaches the database's own refusals, which name constraints."""
    form = StudioForm(typed(**{"phone": "", field: value}))
    assert not form.is_valid()
    assert set(form.errors) == {field}
    assert any(words in error for error in form.errors[field]), form.errors


def test_a_country_with_the_same_holidays_everywhere_takes_no_region():
    """The owner is not sent to guess."""
    form = StudioForm(typed(country="GR", region="ATT", phone=""))
    assert "Leave this empty" in str(form.errors["region"])


def test_a_new_studio_starts_in_a_zone_that_fits_its_country(client, owner_user):
    """Not in the first zone of the alphabet."""
    client.force_login(owner_user)
    form = client.get(reverse("admin:fit_sessions_studio_add")).context["adminform"].form
    chosen = {name: form[name].value() for name in ("time_zone", "country", "currency")}
    assert chosen == {"time_zone": "Europe/London", "country": "GB", "currency": "GBP"}


def test_what_is_stored_is_shown_again():
    """The form of a studio that exists starts from it, not from the defaults."""
    studio = factories.StudioFactory(country="US", time_zone="America/New_York", currency="USD")
    form = StudioForm(instance=Studio.objects.get(pk=studio.pk))
    assert [form[name].value() for name in ("time_zone", "country", "currency")] == ["America/New_York", "US", "USD"]


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("price", "-5", "A price cannot be negative"),
        ("price", "NaN", "Enter a number"),
        ("planned_min", "0", "at least five minutes"),
        ("planned_min", "-10", "greater than or equal to 0"),
        ("slack_min", "12", "steps of five minutes"),
    ],
)
def test_a_service_that_cannot_be(studio, field, value, words):
    """The reason is in words; a service without slack is none of them."""
    service = studio.services.get()
    data = {**ServiceForm(instance=service).initial, "slack_min": 0, "is_active": "on"}
    assert ServiceForm(data, instance=service).is_valid()
    form = ServiceForm(data | {field: value}, instance=service)
    assert words in str(form.errors)
    assert "Constraint" not in str(form.errors)
