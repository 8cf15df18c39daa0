"""The length of a session and its buffers."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given

from sessions.diary.errors import CalendarRangeError, LengthError, NaiveTimeError
from sessions.diary.intervals import Interval, contains, total
from sessions.diary.need import Need
from tests.strategies_diary import needs

TEN = datetime(2025, 1, 6, 10, 0, tzinfo=UTC)


def test_buffers_lie_around_the_session():
    """The rider is told 10:00 to 12:00; fitter and bay are taken from 09:50 to 12:20."""
    need = Need(120, before_min=10, after_min=20)
    assert need.session(TEN) == Interval(TEN, TEN + timedelta(hours=2))
    assert need.occupied(TEN) == Interval(TEN - timedelta(minutes=10), TEN + timedelta(minutes=140))


@given(needs)
def test_what_is_occupied_holds_the_session(need):
    """The session lies within what it occupies, which is as long as all parts together."""
    assert contains([need.occupied(TEN)], need.session(TEN))
    assert total([need.occupied(TEN)]) == timedelta(minutes=need.total_min)
    assert need.session(TEN).start == TEN


def test_lengths_are_elapsed_time_over_a_clock_change():
    """Two hours from half past midnight end at half past three when an hour is skipped."""
    london = ZoneInfo("Europe/London")
    session = Need(120).session(datetime(2025, 3, 30, 0, 30, tzinfo=london))
    assert f"{session.end.astimezone(london):%H:%M}" == "03:30"


@pytest.mark.parametrize(
    ("lengths", "name"),
    [
        ((0,), "Session"),
        ((-30,), "Session"),
        ((61,), "Session"),
        ((1445,), "Session"),
        ((10**30,), "Session"),
        ((60, -5), "Buffer before"),
        ((60, 7), "Buffer before"),
        ((60, 0, -5), "Buffer after"),
        ((60, 0, 3), "Buffer after"),
        ((1200, 120, 125), "Session and buffers"),
    ],
)
def test_lengths_that_cannot_be_are_refused(lengths, name):
    """Off the five minutes, negative, empty or longer than a day: refused, and told which."""
    with pytest.raises(LengthError, match=f"^{name}: ") as refused:
        Need(*lengths)
    assert refused.value.name == name


def test_a_day_is_the_longest_need():
    """Exactly a day, buffers included, is still a need."""
    assert Need(1200, 120, 120).total_min == 1440


def test_starts_that_lead_nowhere_are_refused():
    """A start without zone or at the end of the calendar is refused."""
    with pytest.raises(NaiveTimeError):
        Need(60).occupied(TEN.replace(tzinfo=None))
    with pytest.raises(CalendarRangeError):
        Need(60).occupied(datetime.max.replace(tzinfo=UTC))
