"""Real threads with connections of their own want the same time: the database lets exactly one have it."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from itertools import combinations
from threading import Barrier
from uuid import uuid4

import pytest
import time_machine
from django.db import connections

from intake.models import Bike, Client, OutgoingMail, PreVisitCheck, RiderLink, TriageSummary
from sessions.diary.errors import MoveNotAllowedError
from sessions.diary.states import OCCUPYING
from sessions.models import FitSession, Occupancy, StateChange
from sessions.services.booking import book as booking
from sessions.services.booking.errors import DiaryRefusal, StartTakenError
from sessions.services.booking.moves import cancel_session, extend_session, move_session
from sessions.services.booking.riders import RiderDetails
from tests.booking import NOW, START, book_one

pytestmark = pytest.mark.django_db(transaction=True)

WRITERS = 8
MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def service(studio):
    """Two hours and a quarter to clear up, with one fitter and one bay."""
    studio.fitters.last().delete()
    studio.bays.last().delete()
    return studio.services.get()


@pytest.fixture(params=["as in life", "blind"])
def search(request, service, monkeypatch):
    """In life writers queue and look first. Blind, nothing but the rows' constraints stands between them."""
    if request.param == "blind":
        fitter, bay = service.studio.fitters.get(), service.studio.bays.get()
        monkeypatch.setattr(booking, "queue_up", lambda studio_id: None)
        monkeypatch.setattr(
            booking, "find_place", lambda service, start, **how: booking.Place(start, fitter.pk, bay.pk)
        )
    return request.param


def at_once(*jobs):
    """Run jobs in threads that start together; return what each gave or was refused with."""
    gate = Barrier(len(jobs))

    def run(job):
        try:
            gate.wait()
            return job()
        except (DiaryRefusal, MoveNotAllowedError) as refusal:
            return refusal
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(jobs)) as threads:
        return list(threads.map(run, jobs))


def rider(number):
    """A rider of their own for each thread."""
    return RiderDetails(f"Rider Tarnfell {number}", f"rider{number}@tarnfell.example")


def takers(service, starts):
    """One job per start, each with a rider of its own."""
    return [
        lambda number=number, start=start: book_one(service, start, rider=rider(number))
        for number, start in enumerate(starts)
    ]


def counted(results):
    """How many won and how many were refused in which way."""
    return Counter(type(result).__name__ for result in results)


def occupied(fit_session):
    """Start and end of all that a session occupies, from its own figures."""
    begin = fit_session.starts_at - fit_session.buffer_before_min * MINUTE
    return begin, fit_session.ends_at + fit_session.buffer_after_min * MINUTE


def check_diary():
    """No two sessions share a fitter's or a bay's time, and each one's rows are exactly its own time."""
    standing = list(FitSession.objects.filter(state__in=OCCUPYING).prefetch_related("occupancy"))
    for one, other in combinations(standing, 2):
        if one.fitter_id == other.fitter_id or one.bay_id == other.bay_id:
            (begin, end), (other_begin, other_end) = occupied(one), occupied(other)
            assert end <= other_begin or other_end <= begin
    for one in standing:
        begin, end = occupied(one)
        needed = set(range(int(begin.timestamp()) // 300, int(end.timestamp()) // 300))
        assert {row.quantum for row in one.occupancy.all()} == needed
        assert {(row.fitter_id, row.bay_id) for row in one.occupancy.all()} == {(one.fitter_id, one.bay_id)}
    assert Occupancy.objects.exclude(fit_session__in=standing).count() == 0


def check_nothing_is_half_stored(bookings):
    """Every table holds what these bookings need, and no row more."""
    assert FitSession.objects.count() == bookings
    for model in (Client, Bike, PreVisitCheck, StateChange, RiderLink, OutgoingMail, TriageSummary):
        assert model.objects.count() == bookings


def test_one_of_many_gets_the_start(service, search):
    """The same start, one fitter, one bay: one wins, everybody else is told, and nothing of theirs is kept."""
    results = at_once(*takers(service, [START] * WRITERS))
    assert counted(results) == {"Booking": 1, "StartTakenError": WRITERS - 1}
    check_nothing_is_half_stored(1)
    check_diary()


def test_one_of_many_overlapping_starts(service, search):
    """Starts a quarter of an hour apart, each of which would overlap every other: one wins."""
    service.studio.grid_min = 15
    service.studio.save()
    results = at_once(*takers(service, [START + 15 * number * MINUTE for number in range(WRITERS)]))
    assert counted(results) == {"Booking": 1, "StartTakenError": WRITERS - 1}
    check_nothing_is_half_stored(1)
    check_diary()


def test_neighbours_do_not_hinder_each_other(service, search):
    """Sessions that only touch are all booked, at the same moment."""
    service.planned_min, service.slack_min, service.buffer_after_min = 45, 0, 15
    service.save()
    results = at_once(*takers(service, [START.replace(hour=9) + 60 * number * MINUTE for number in range(WRITERS)]))
    assert counted(results) == {"Booking": WRITERS}
    check_nothing_is_half_stored(WRITERS)
    check_diary()


def test_two_fitters_and_two_bays_take_two(studio):
    """Nobody is refused while somebody is free: the writers do not all choose the same fitter."""
    results = at_once(*takers(studio.services.get(), [START] * WRITERS))
    assert counted(results) == {"Booking": 2, "StartTakenError": WRITERS - 2}
    check_nothing_is_half_stored(2)
    check_diary()


def test_one_form_sent_by_many_taps(service, search):
    """The same form books once, and everybody who sent it sees the same booking."""
    key = str(uuid4())
    results = at_once(*[lambda: book_one(service, rider=rider(1), request_key=key)] * WRITERS)
    booked = [result for result in results if not isinstance(result, StartTakenError)]
    assert len(booked) == (WRITERS if search == "as in life" else len(booked))
    assert {result.fit_session.pk for result in booked} == {FitSession.objects.get().pk}
    check_nothing_is_half_stored(1)
    check_diary()


def test_two_sessions_wish_to_move_to_the_same_start(service):
    """One moves, the other stays where it was, whole."""
    there = START + timedelta(days=1)
    sessions = [book_one(service, START + hours * 60 * MINUTE, rider=rider(hours)).fit_session for hours in (-1, 3)]
    results = at_once(*[lambda one=one: move_session(fit_session=one, new_start=there, by=None) for one in sessions])
    assert counted(results) == {"FitSession": 1, "StartTakenError": 1}
    assert sorted(FitSession.objects.values_list("state", flat=True)) == ["booked", "moved"]
    check_diary()


def test_everything_at_once_leaves_a_sound_diary(studio):
    """Bookings, moves across each other, extensions and cancellations of the same afternoon, six times over."""
    service = studio.services.get()
    for turn in range(6):
        day = START + timedelta(days=turn % 4, weeks=turn // 4)
        mine = [book_one(service, day.replace(hour=hour), rider=rider(hour)).fit_session for hour in (9, 9, 12)]
        at_once(
            lambda one=mine[0], day=day: move_session(fit_session=one, new_start=day.replace(hour=12), by=None),
            lambda one=mine[2], day=day: move_session(fit_session=one, new_start=day.replace(hour=9), by=None),
            lambda one=mine[1]: extend_session(fit_session=one, extra_min=60, by=None),
            lambda one=mine[1], day=day: move_session(fit_session=one, new_start=day.replace(hour=10), by=None),
            lambda one=mine[2]: cancel_session(fit_session=one, by=None),
            *takers(service, [day.replace(hour=11), day.replace(hour=14), day.replace(hour=9, minute=30)]),
        )
        check_diary()
