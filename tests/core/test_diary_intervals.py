"""Interval arithmetic against sets of minutes."""

import pickle
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.diary.errors import CalendarRangeError, EndBeforeStartError, NaiveTimeError
from sessions.diary.intervals import Interval, contains, intersect, subtract, total, union
from tests.strategies_diary import intervals

START = datetime(2025, 3, 29, tzinfo=UTC)
sets_of_time = st.lists(intervals(), max_size=8)


def minutes(several):
    """The minutes that intervals hold, one by one."""
    return {
        minute
        for each in several
        for minute in range(int(each.start.timestamp()) // 60, int(each.end.timestamp()) // 60)
    }


def is_normal(several):
    """Whether intervals ascend and leave a gap between one another."""
    return all(earlier.end < later.start for earlier, later in pairwise(several))


@given(sets_of_time, sets_of_time)
def test_set_operations_agree_with_sets_of_minutes(first, second):
    """Union, intersection and difference hold the same minutes as Python's sets, in normal form."""
    for operation, expected in [
        (union, minutes(first) | minutes(second)),
        (intersect, minutes(first) & minutes(second)),
        (subtract, minutes(first) - minutes(second)),
    ]:
        result = operation(first, second)
        assert minutes(result) == expected
        assert is_normal(result)


@given(sets_of_time)
def test_normal_form_is_unique(several):
    """Order, repetition and cutting do not change the normal form."""
    once = union(several)
    assert union(reversed(several), several) == once
    assert union(once) == once
    halves = [part for each in several for part in halved(each)]
    assert union(halves) == once


def halved(each):
    """The interval cut in two where it is long enough."""
    middle = each.start + timedelta(minutes=int((each.end - each.start) / timedelta(minutes=2)))
    return [Interval(each.start, middle), Interval(middle, each.end)] if middle > each.start else [each]


@given(sets_of_time, sets_of_time)
def test_what_is_left_and_what_is_taken_make_the_whole(first, second):
    """Subtracting splits a set into two parts that share nothing and lose nothing."""
    left, taken = subtract(first, second), intersect(first, second)
    assert union(left, taken) == union(first)
    assert intersect(left, taken) == ()
    assert total(left) + total(taken) == total(first)


@given(sets_of_time, intervals())
def test_containing_agrees_with_minutes(several, one):
    """A set contains an interval when it holds each of its minutes."""
    assert contains(several, one) == (minutes([one]) <= minutes(several))


@given(intervals(), intervals())
def test_overlapping_agrees_with_minutes(first, second):
    """Two intervals overlap when they share a minute, whichever is asked."""
    shared = bool(minutes([first]) & minutes([second]))
    assert first.overlaps(second) is shared
    assert second.overlaps(first) is shared


@given(sets_of_time)
def test_total_counts_overlaps_once(several):
    """The total is as many minutes as the set holds."""
    assert total(several) == timedelta(minutes=len(minutes(several)))


def test_nothing_is_a_set():
    """The empty set goes through every operation."""
    one = Interval(START, START + timedelta(hours=1))
    assert union() == union([]) == intersect([one], []) == subtract([], [one]) == subtract([one], [one]) == ()
    assert total([]) == timedelta()


def test_any_zone_comes_in_and_utc_is_kept():
    """Times of a zone are kept in UTC, where an interval over a clock change has its true length."""
    london = ZoneInfo("Europe/London")
    night = Interval(datetime(2025, 3, 30, 0, tzinfo=london), datetime(2025, 3, 30, 3, tzinfo=london))
    assert night == Interval(datetime(2025, 3, 30, 0, tzinfo=UTC), datetime(2025, 3, 30, 2, tzinfo=UTC))
    assert night.end.tzinfo is UTC
    assert night.end - night.start == timedelta(hours=2)


@pytest.mark.parametrize("minutes_later", [0, -1])
def test_empty_and_backward_intervals_are_refused(minutes_later):
    """An interval ends after it starts."""
    with pytest.raises(EndBeforeStartError) as refused:
        Interval(START, START + timedelta(minutes=minutes_later))
    assert refused.value.start == START


def test_interval_backward_only_by_the_clock_is_accepted():
    """From the first showing of 01:50 to the second of 01:10 is twenty minutes, although the clock runs back."""
    london = ZoneInfo("Europe/London")
    fall = Interval(datetime(2025, 10, 26, 1, 50, tzinfo=london), datetime(2025, 10, 26, 1, 10, fold=1, tzinfo=london))
    assert fall.end - fall.start == timedelta(minutes=20)


def test_time_without_zone_is_refused():
    """A naive start or end is refused."""
    with pytest.raises(NaiveTimeError):
        Interval(START.replace(tzinfo=None), START)
    with pytest.raises(NaiveTimeError):
        Interval(START, START.replace(tzinfo=None))


def test_ends_of_the_calendar_are_refused():
    """An instant before the year 1 or after 9999 is refused and not an overflow."""
    with pytest.raises(CalendarRangeError):
        Interval(START, datetime.max.replace(tzinfo=ZoneInfo("America/New_York")))
    with pytest.raises(CalendarRangeError):
        Interval(datetime.min.replace(tzinfo=ZoneInfo("Asia/Kathmandu")), START)


def test_refusals_survive_pickling():
    """A refusal crosses a process border with its values, as a background task needs."""
    with pytest.raises(EndBeforeStartError) as refused:
        Interval(START, START)
    copy = pickle.loads(pickle.dumps(refused.value))
    assert (copy.start, copy.end, str(copy)) == (START, START, str(refused.value))
