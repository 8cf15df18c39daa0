"""A session's states: the table's moves only, each kept with who did it, time taken and given back."""

from datetime import timedelta

import pytest
import time_machine

from sessions.diary.errors import MoveNotAllowedError
from sessions.diary.states import ALLOWED_MOVES, OCCUPYING, SessionState
from sessions.models import FitSession
from sessions.services.booking.errors import StartTakenError
from sessions.services.booking.history import OTHERWISE, change_state
from sessions.services.booking.moves import cancel_session
from tests import factories
from tests.booking import NOW, START, book_one

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def booked(studio):
    """Tuesday ten o'clock to noon, as a rider booked it."""
    return book_one(studio.services.get()).fit_session


def quanta_of(fit_session):
    """The quanta that a session's rows hold."""
    return set(fit_session.occupancy.values_list("quantum", flat=True))


def quanta_needed(fit_session):
    """The quanta that its times and buffers say it should hold."""
    begin = fit_session.starts_at - timedelta(minutes=fit_session.buffer_before_min)
    end = fit_session.ends_at + timedelta(minutes=fit_session.buffer_after_min)
    return set(range(int(begin.timestamp()) // 300, int(end.timestamp()) // 300))


def fresh(fit_session):
    """The session as it is stored."""
    return FitSession.objects.get(pk=fit_session.pk)


@pytest.mark.parametrize("before", list(SessionState))
@pytest.mark.parametrize("to", sorted(set(SessionState) - OTHERWISE))
def test_the_table_is_kept_to(booked, clock, before, to):
    """Every pair of states: what the table allows is done and kept, anything else is refused and changes nothing."""
    clock.move_to(START)
    FitSession.objects.filter(pk=booked.pk).update(state=before.value)
    if before not in OCCUPYING:
        booked.occupancy.all().delete()
    lines = booked.history.count()
    if to in ALLOWED_MOVES[before]:
        change = change_state(fit_session=booked, to=to, by=None, note="as it went")
        assert (change.from_state, change.to_state) == (before.value, to.value)
        assert fresh(booked).state == booked.state == to.value
        assert booked.occupancy.exists() == (to in OCCUPYING)
    else:
        with pytest.raises(MoveNotAllowedError):
            change_state(fit_session=booked, to=to, by=None)
        assert fresh(booked).state == before.value
        assert booked.history.count() == lines


@pytest.mark.parametrize("to", ["moved", "cancelled", "lost"])
def test_states_with_a_service_of_their_own(booked, to):
    """Moved and cancelled mean more than a word; an unknown word means nothing."""
    with pytest.raises(ValueError, match=r"SessionState|service"):
        change_state(fit_session=booked, to=to, by=None)


def test_a_rider_who_comes_after_all(booked, clock):
    """The time is taken back where it is still free, and refused where it was given away."""
    clock.move_to(START)
    change_state(fit_session=booked, to="no_show", by=None)
    assert not booked.occupancy.exists()
    change_state(fit_session=booked, to="under_way", by=None)
    assert quanta_of(booked) == quanta_needed(booked)
    FitSession.objects.filter(pk=booked.pk).update(state="no_show")
    booked.occupancy.all().delete()
    factories.FitSessionFactory(studio=booked.studio, fitter=booked.fitter, starts_at=START + HOUR)
    with pytest.raises(StartTakenError):
        change_state(fit_session=booked, to="under_way", by=None)
    assert fresh(booked).state == "no_show"


def test_an_outdated_page_does_not_undo(booked):
    """What counts is the state in the database, not the one that was read earlier."""
    stale = fresh(booked)
    cancel_session(fit_session=booked, by=None)
    with pytest.raises(MoveNotAllowedError):
        change_state(fit_session=stale, to="confirmed", by=None)
