"""A rider who asks for it is forgotten: no table holds their name, address or number any more, and their time is free again."""

from datetime import timedelta

import pytest
import time_machine
from django.contrib.admin.models import LogEntry
from django.db import connection
from django.urls import reverse

from intake.models import Bike, Client
from intake.tasks import send_waiting_mail
from sessions.models import FitSession
from sessions.services.booking.moves import move_session
from tests.booking import NOW, RIDER, START, book_one

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def owner_client(client, owner_user):
    """A browser in which the owner is logged in."""
    client.force_login(owner_user)
    return client


@pytest.fixture
def booked(studio):
    """A session that was booked, moved and mailed about, in a studio with one fitter."""
    studio.fitters.last().delete()
    fit_session = book_one(studio.services.get(), START - DAY).fit_session
    return move_session(fit_session=fit_session, new_start=START, by=None)


def all_that_is_kept():
    """Every value of every row of every table, as one text."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            yield from (f"{table}: {row}" for row in cursor.fetchall())


def rows_about(*words):
    """The rows in which any of these words stands."""
    return [row for row in all_that_is_kept() if any(word in row for word in words)]


def details(person):
    """What the owner's page of a client sends back."""
    names = ("name", "latin_name", "email", "phone", "length_unit", "notes")
    return {name: getattr(person, name) or "" for name in names}


def no_bikes(count):
    """The bikes beneath a client, as the owner's page sends them back untouched."""
    return {"bikes-TOTAL_FORMS": count, "bikes-INITIAL_FORMS": count}


def test_nothing_of_a_deleted_rider_is_left(owner_client, booked):
    """Neither in a table of ours nor in the owner's own log, changes and sent mails included."""
    person, bike = booked.client, booked.bike
    send_waiting_mail.call()
    page = reverse("admin:intake_client_change", args=[person.pk])
    sent = {"bikes-0-id": bike.pk, "bikes-0-client": person.pk, "bikes-0-name": "Ilse’s bike", "bikes-0-kind": "road"}
    owner_client.post(page, details(person) | no_bikes(1) | sent | {"notes": "Rings on Mondays"})
    owner_client.post(reverse("admin:fit_sessions_fitsession_change", args=[booked.pk]), {"wish": "Less"} | NO_ROWS)
    assert rows_about("Kvalheim", RIDER.email)
    assert (
        owner_client.post(reverse("admin:intake_client_delete", args=[person.pk]), {"post": "yes"}).status_code == 302
    )
    assert rows_about("Kvalheim", "Ilse", RIDER.email, RIDER.phone, "Rings on Mondays") == []
    assert LogEntry.objects.count() == 3


NO_ROWS = {
    f"{prefix}-{name}": 0 for prefix in ("history", "slot_decisions") for name in ("TOTAL_FORMS", "INITIAL_FORMS")
}


def test_the_time_of_a_deleted_rider_is_free(owner_client, booked):
    """Somebody else can book it at once."""
    owner_client.post(reverse("admin:intake_client_delete", args=[booked.client_id]), {"post": "yes"})
    assert book_one(booked.service, START).fit_session.starts_at == START


def test_a_bike_is_not_deleted_by_a_tick(owner_client, booked):
    """Its sessions and fit records would go with it unasked; its own page asks first and names them."""
    person, bike = booked.client, booked.bike
    sent = {"bikes-0-id": bike.pk, "bikes-0-client": person.pk, "bikes-0-name": bike.name, "bikes-0-kind": "road"}
    page = reverse("admin:intake_client_change", args=[person.pk])
    owner_client.post(page, details(person) | no_bikes(1) | sent | {"bikes-0-DELETE": "on"})
    assert FitSession.objects.filter(pk=booked.pk).exists()
    asked = owner_client.get(reverse("admin:intake_bike_delete", args=[bike.pk]))
    assert str(booked) in asked.content.decode()
    assert (Client.objects.count(), Bike.objects.count()) == (1, 1)
