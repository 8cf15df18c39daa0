"""Free starts as they are offered."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.diary.choices import by_day, nearest
from sessions.diary.errors import NaiveTimeError
from sessions.diary.free_starts import FreeStart
from tests.strategies_diary import zones

LONDON = ZoneInfo("Europe/London")
TEN = datetime(2025, 6, 2, 10, tzinfo=UTC)

moments = st.integers(0, 288 * 400).map(
    lambda quantum: datetime(2025, 1, 1, tzinfo=UTC) + timedelta(minutes=5 * quantum)
)
some_starts = st.lists(moments, max_size=30, unique=True).map(
    lambda several: [FreeStart(each, (1,), (7,)) for each in several]
)


def at(*hours):
    """Free starts at hours of a day in UTC."""
    return [FreeStart(datetime(2025, 6, 2, hour, tzinfo=UTC), (1,), (7,)) for hour in hours]


def test_nearest_comes_first_and_the_earlier_of_two():
    """Around ten: ten itself, then nine before eleven, then one o'clock."""
    starts = at(8, 9, 10, 11, 13)
    assert nearest(starts, TEN, 3) == tuple(at(10, 9, 11))
    assert nearest(at(13, 9, 11), TEN, 9) == tuple(at(9, 11, 13))


@given(some_starts, moments, st.integers(0, 10))
def test_nothing_nearer_is_left_out(starts, wanted, count):
    """As many as asked if there are; none left out is nearer than one offered."""
    offered = nearest(starts, wanted, count)
    assert len(offered) == min(count, len(starts))
    distances = [abs(each.start_utc - wanted) for each in offered]
    assert distances == sorted(distances)
    left_out = [abs(each.start_utc - wanted) for each in starts if each not in offered]
    assert not distances or not left_out or distances[-1] <= min(left_out)


def test_wanted_time_may_be_in_any_zone_but_needs_one():
    """Eleven in London's summer is ten in UTC; eleven without zone is nothing."""
    assert nearest(at(9, 10, 11), datetime(2025, 6, 2, 11, tzinfo=LONDON), 1) == tuple(at(10))
    with pytest.raises(NaiveTimeError):
        nearest(at(9), TEN.replace(tzinfo=None), 1)


@given(some_starts, zones)
def test_days_hold_every_start_once_in_order(starts, zone):
    """Grouping loses nothing, invents nothing, and each start is on the date that the wall calendar shows."""
    days = by_day(starts, zone)
    assert [each.free for day in days for each in day.starts] == sorted(starts, key=lambda each: each.start_utc)
    assert [day.day for day in days] == sorted({each.start_utc.astimezone(zone).date() for each in starts})
    for day in days:
        assert {each.local.date() for each in day.starts} == {day.day}
        assert all(each.local == each.free.start_utc and each.local.tzinfo is zone for each in day.starts)


def test_the_local_date_counts_not_the_date_in_utc():
    """Half past eleven at night in UTC is already tomorrow in a London summer."""
    late = FreeStart(datetime(2025, 6, 2, 23, 30, tzinfo=UTC), (1,), (7,))
    (day,) = by_day([late], LONDON)
    assert day.day == date(2025, 6, 3)
    assert f"{day.starts[0].local:%H:%M}" == "00:30"


def test_repeated_times_are_marked():
    """In the autumn night both showings of 01:30 are marked and their zone names tell them apart; 02:00 is plain."""
    midnight = datetime(2025, 10, 26, 0, tzinfo=UTC)
    starts = [FreeStart(midnight + timedelta(minutes=minutes), (1,), (7,)) for minutes in (30, 90, 120)]
    (day,) = by_day(starts, LONDON)
    assert [(f"{each.local:%H:%M %Z}", each.is_repeated) for each in day.starts] == [
        ("01:30 BST", True),
        ("01:30 GMT", True),
        ("02:00 GMT", False),
    ]
