"""A steady clock and a caller's details for the tests of booking."""

from datetime import UTC, datetime
from uuid import uuid4

from sessions.forms.fields import utc_mark
from sessions.services.booking.book import book
from sessions.services.booking.riders import BikeDetails, RiderDetails

# A Monday morning before the clocks change; no public holiday in the two weeks after it.
NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
START = datetime(2026, 3, 10, 10, 0, tzinfo=UTC)
RIDER = RiderDetails(name="Ilse Kvalheim", email="ilse@tarnfell.example", phone="+441212345678")
BIKE = BikeDetails(name="Blue road bike", kind="road")


def book_one(service, start=START, **changes):
    """Book as a rider does, with a form of its own."""
    asked = {"rider": RIDER, "bike": BIKE, "request_key": str(uuid4())}
    return book(service=service, start=start, **asked | changes)


def form_data(start=START, **changes):
    """What a rider's browser posts."""
    given = {
        "start": utc_mark(start),
        "request_key": str(uuid4()),
        "name": RIDER.name,
        "email": RIDER.email,
        "phone": "0121 234 5678",
        "bike_name": BIKE.name,
        "bike_kind": BIKE.kind,
        "length_unit": "mm",
        "wish": "Ride all day without a sore neck.",
    }
    return given | changes
