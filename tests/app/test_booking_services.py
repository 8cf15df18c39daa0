"""Booking stores everything that belongs to a session, or nothing at all."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.conf import settings
from django.db import IntegrityError
from django_tasks_db.models import DBTaskResult

from fitstudio.desk.services import renew_link
from intake.models import Bike, Client, OutgoingMail, PreVisitCheck, RiderLink, TriageSummary
from intake.slots import slot_of
from sessions.models import Closure, FitSession, Occupancy, StateChange
from sessions.selectors.booking.diary import free_starts_for
from sessions.selectors.booking.preparation import preparation_of
from sessions.services.booking import book as booking
from sessions.services.booking.errors import RequestUsedError, StartNotOfferedError, StartTakenError, WhyNot
from sessions.services.booking.riders import BikeDetails, RiderDetails
from tests import factories
from tests.booking import BIKE, NOW, RIDER, START, book_one

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def service(studio):
    """Two hours, with a quarter of an hour to clear up."""
    return studio.services.get()


def nothing_is_stored():
    """Whether no trace of a booking is left."""
    kept = (Client, Bike, PreVisitCheck, FitSession, Occupancy, StateChange, RiderLink, OutgoingMail, TriageSummary)
    return not any(model.objects.exists() for model in kept)


def test_a_booking_stores_all_that_belongs_to_it(service):
    """Client, bike, check, session, time, history, link, summary and mail are there together."""
    made = book_one(service, wish="A quieter knee")
    fit_session = FitSession.objects.get()
    assert made.is_new
    assert made.fit_session == fit_session
    assert (fit_session.starts_at, fit_session.ends_at) == (START, START + timedelta(minutes=120))
    assert (fit_session.planned_min, fit_session.slack_min, fit_session.state) == (105, 15, "booked")
    assert (fit_session.client.name, fit_session.client.phone.as_e164) == (RIDER.name, RIDER.phone)
    assert (fit_session.bike.name, fit_session.bike.kind) == (BIKE.name, BIKE.kind)
    assert fit_session.bike.client == fit_session.client == fit_session.pre_visit.client
    assert fit_session.wish == "A quieter knee"
    change = fit_session.history.get()
    assert (change.from_state, change.to_state, change.changed_by) == ("", "booked", None)
    assert fit_session.pre_visit.summary.unanswered > 0
    assert made.link.pre_visit == fit_session.pre_visit
    assert made.link.expires_at == fit_session.ends_at + timedelta(days=settings.RIDER_LINK_DAYS_AFTER)


def test_the_time_taken_holds_the_buffers(studio):
    """Ten minutes before, two hours, fifteen after: 29 quanta of five minutes, in ascending order."""
    service = factories.ServiceFactory(studio=studio, buffer_before_min=10)
    made = book_one(service)
    rows = list(made.fit_session.occupancy.order_by("pk").values_list("quantum", flat=True))
    first = int((START - timedelta(minutes=10)).timestamp()) // 300
    assert rows == list(range(first, first + 29))


def test_the_confirmation_waits_in_the_outbox(service):
    """It names time, zone and private page, says how long the check takes, and carries the invitation."""
    made = book_one(service)
    mail = OutgoingMail.objects.get()
    assert mail.to == RIDER.email
    assert mail.client == made.fit_session.client
    assert "Tuesday 10 March 2026, 10:00–12:00 (Europe/London, GMT)" in mail.body
    assert f"{settings.SITE_URL}/r/{made.link.token}/" in mail.body
    minutes = preparation_of(made.fit_session.pre_visit, slot_of(made.fit_session.pre_visit_id)).checks.minutes_left
    assert f"It takes about {minutes} minutes" in mail.body
    attached = mail.attachments.get()
    assert (attached.filename, attached.media_type) == ("session.ics", "text/calendar; method=REQUEST")
    assert made.link.token.encode() not in bytes(attached.content)
    assert DBTaskResult.objects.count() == 1


def test_the_day_named_for_the_check_leaves_time_for_every_remedy(service):
    """Ten working days, the longest lead time there is, before a session three weeks off."""
    book_one(service, START + timedelta(days=14))
    assert "Please do it by Tuesday 10 March." in OutgoingMail.objects.get().body


def test_too_late_for_every_remedy_says_soon(service):
    """No day in the past is named."""
    book_one(service)
    assert "as soon as you can" in OutgoingMail.objects.get().body


def test_whoever_has_the_least_to_do_takes_it(service):
    """The second session of a day goes to the other fitter and the other bay, the third back to the first."""
    fitters = list(service.studio.fitters.order_by("pk"))
    made = [book_one(service, START.replace(hour=hour)).fit_session for hour in (9, 10, 12)]
    assert [each.fitter for each in made] == [fitters[0], fitters[1], fitters[0]]
    assert made[0].bay != made[1].bay


def test_a_named_fitter_and_bay_are_kept_to(service):
    """The desk may ask for one, who is then the only one that counts."""
    fitter, bay = service.studio.fitters.last(), service.studio.bays.last()
    made = book_one(service, fitter_id=fitter.pk, bay_id=bay.pk)
    assert (made.fit_session.fitter, made.fit_session.bay) == (fitter, bay)
    with pytest.raises(StartTakenError):
        book_one(service, fitter_id=fitter.pk)


def test_a_taken_start_leaves_nothing_behind(service):
    """With both fitters busy the third rider is refused, and no half of a booking stays."""
    for _ in range(2):
        book_one(service)
    before = {model: model.objects.count() for model in (Client, Bike, PreVisitCheck, RiderLink, OutgoingMail)}
    with pytest.raises(StartTakenError) as refused:
        book_one(service, START + timedelta(minutes=90), rider=RiderDetails("Osk Brynn", "osk@tarnfell.example"))
    assert refused.value.start == START + timedelta(minutes=90)
    assert before == {model: model.objects.count() for model in before}


def test_the_database_refuses_where_the_search_was_blind(service, monkeypatch):
    """Even when the search for a free place sees nothing of another booking, its rows refuse the overlap."""
    first = book_one(service).fit_session
    place = booking.Place(START + timedelta(minutes=60), first.fitter_id, first.bay_id)
    monkeypatch.setattr(booking, "find_place", lambda *args, **kwargs: place)
    with pytest.raises(StartTakenError):
        book_one(service)
    assert FitSession.objects.count() == 1
    assert OutgoingMail.objects.count() == 1


def test_a_failing_mail_takes_the_booking_back(service, monkeypatch):
    """Whatever goes wrong at the last step, nothing half-booked stays."""

    def fail(**kwargs):
        raise RuntimeError("no outbox")

    monkeypatch.setattr(booking, "tell_booked", fail)
    with pytest.raises(RuntimeError):
        book_one(service)
    assert nothing_is_stored()


@pytest.mark.parametrize(
    ("start", "why"),
    [
        (NOW - timedelta(minutes=5), WhyNot.PAST),
        (datetime(1, 1, 1, tzinfo=UTC), WhyNot.PAST),
        (datetime(2026, 3, 3, 7, 30, tzinfo=UTC), WhyNot.NOTICE),
        (datetime(2026, 6, 1, 10, 0, tzinfo=UTC), WhyNot.HORIZON),
        (datetime(9999, 12, 31, 23, 59, tzinfo=UTC), WhyNot.HORIZON),
        (START + timedelta(minutes=10), WhyNot.HOURS),
        (START + timedelta(seconds=1), WhyNot.HOURS),
        (START.replace(hour=8, minute=30), WhyNot.HOURS),
        (START.replace(hour=15), WhyNot.HOURS),
        (START + timedelta(days=4), WhyNot.HOURS),
    ],
    ids=[
        "past",
        "year 1",
        "too soon",
        "too far",
        "year 9999",
        "off grid",
        "seconds",
        "before hours",
        "too late",
        "Saturday",
    ],
)
def test_only_starts_on_offer_are_booked(service, start, why):
    """Grid, hours, notice and horizon hold for whoever types an address by hand, each with its reason."""
    with pytest.raises(StartNotOfferedError) as refused:
        book_one(service, start)
    assert refused.value.why is why
    assert str(refused.value)
    assert nothing_is_stored()


def test_the_last_start_leaves_time_to_clear_up(service):
    """Two hours and a quarter before five o'clock is a quarter to three: half past two is the last start on the grid."""
    assert book_one(service, START.replace(hour=14, minute=30)).is_new


def test_a_closed_day_is_not_on_offer(service):
    """Closures and public holidays close the studio."""
    Closure.objects.create(studio=service.studio, first_day=date(2026, 3, 9), last_day=date(2026, 3, 13))
    good_friday = datetime(2026, 4, 3, 9, 0, tzinfo=UTC)
    for start in (START, good_friday):
        with pytest.raises(StartNotOfferedError):
            book_one(service, start)


def test_the_desk_books_at_short_notice_but_never_over_another(service):
    """Without notice an hour from now can be had; what is taken stays taken."""
    soon = NOW + timedelta(hours=1)
    for _ in range(2):
        assert book_one(service, soon, with_notice=False).is_new
    with pytest.raises(StartTakenError):
        book_one(service, soon, with_notice=False)


def test_every_start_on_offer_can_be_booked(service):
    """What the list shows and what booking takes are the same, to the first and the last of it."""
    starts = free_starts_for(service)
    for each in (starts[0], starts[-1]):
        assert book_one(service, each.start_utc).is_new


class TestTheSameFormTwice:
    """A form books once, however often it is sent."""

    def test_it_returns_what_it_booked(self, service):
        """The second time nothing is stored, and the same page opens."""
        key = str(uuid4())
        first, second = (book_one(service, request_key=key) for _ in range(2))
        assert (first.is_new, second.is_new) == (True, False)
        assert second.fit_session == first.fit_session
        assert second.link == first.link
        assert (FitSession.objects.count(), Client.objects.count(), OutgoingMail.objects.count()) == (1, 1, 1)

    def test_somebody_else_gets_no_link_by_it(self, service):
        """A browser's back button on a shared computer must not open the first rider's page to the second."""
        key = str(uuid4())
        book_one(service, request_key=key)
        with pytest.raises(RequestUsedError):
            book_one(service, request_key=key, rider=RiderDetails("Osk Brynn", "osk@tarnfell.example"))
        assert FitSession.objects.count() == 1

    def test_two_at_once_are_one_booking(self, service, monkeypatch):
        """Where both copies look before either has booked, the key's own constraint decides."""
        key = str(uuid4())
        first = book_one(service, request_key=key)
        looks = iter([None, first])
        monkeypatch.setattr(booking, "_earlier", lambda *args: next(looks))
        assert book_one(service, request_key=key) == first
        assert FitSession.objects.count() == 1

    def test_another_broken_rule_is_not_taken_for_it(self, service, monkeypatch):
        """An integrity error of another kind is not hidden."""

        def fail(**kwargs):
            raise IntegrityError

        monkeypatch.setattr(booking, "tell_booked", fail)
        with pytest.raises(IntegrityError):
            book_one(service)

    def test_a_closed_link_stays_closed(self, service):
        """Whoever has the old form gets what it booked, not what the studio has given the rider since."""
        key = str(uuid4())
        first = book_one(service, request_key=key)
        renewed = renew_link(pre_visit=first.fit_session.pre_visit)
        second = book_one(service, request_key=key)
        assert second.link == first.link != renewed
        assert not second.link.is_open
        assert RiderLink.objects.count() == 2


class TestWhoIsBooking:
    """One client per person, and no hint of who is known."""

    def test_the_same_person_stays_one_client(self, service):
        """Capitals, spaces and accents do not make another person."""
        client = factories.ClientFactory(name="Ílse  Kvalheim".replace("  ", " "), email="Ilse@Tarnfell.example")
        made = book_one(service)
        assert made.fit_session.client == client
        assert Client.objects.count() == 1

    def test_a_shared_address_is_two_people(self, service):
        """A family may share a mailbox."""
        factories.ClientFactory(name="Per Kvalheim", email=RIDER.email)
        book_one(service)
        assert Client.objects.count() == 2

    def test_a_new_telephone_number_keeps_the_old_one(self, service):
        """The studio calls the new one; the old one is not lost."""
        client = factories.ClientFactory(name=RIDER.name, email=RIDER.email, phone="+441213456789", notes="Left-handed")
        book_one(service)
        client.refresh_from_db()
        assert client.phone.as_e164 == RIDER.phone
        assert client.notes == "Left-handed\nTelephone until 2026-03-02: +44 121 345 6789"

    def test_what_is_left_out_stays(self, service):
        """An empty field deletes nothing."""
        client = factories.ClientFactory(name=RIDER.name, email=RIDER.email, phone=RIDER.phone, latin_name="Ilse K")
        book_one(service, rider=RiderDetails(RIDER.name, RIDER.email))
        client.refresh_from_db()
        assert (client.phone.as_e164, client.latin_name, client.notes) == (RIDER.phone, "Ilse K", "")

    def test_a_known_bike_is_not_shown_to_who_only_knows_its_name(self, service):
        """A rider's booking makes a new bike; only the desk books one that is there."""
        client = factories.ClientFactory(name=RIDER.name, email=RIDER.email)
        known = factories.BikeFactory(client=client, name=BIKE.name, stem_length_mm=110)
        made = book_one(service)
        assert made.fit_session.bike != known
        assert made.fit_session.bike.stem_length_mm is None
        at_desk = book_one(service, rider=client, bike=known)
        assert (at_desk.fit_session.bike, at_desk.fit_session.client) == (known, client)

    def test_any_script_is_a_name(self, service):
        """Names are kept as they are written."""
        rider = RiderDetails("Ελένη Παπαδοπούλου", "eleni@tarnfell.example", "Eleni Papadopoulou")
        made = book_one(service, rider=rider, bike=BikeDetails("Ποδήλατο", "city"))
        made.fit_session.refresh_from_db()
        assert made.fit_session.client.name == rider.name
        assert rider.name in OutgoingMail.objects.get().body
