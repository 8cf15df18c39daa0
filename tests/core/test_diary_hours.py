"""Opening hours against somebody who stands at the door and watches the clock."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.diary.errors import (
    BackwardDatesError,
    CalendarRangeError,
    EmptyHoursError,
    HoursCrossMidnightError,
    OffGridError,
    OverlappingHoursError,
    UnknownWeekdayError,
    ZonedWallTimeError,
)
from sessions.diary.hours import DayHours, opening_intervals, weekly
from sessions.diary.intervals import Interval, total, union
from tests.strategies_diary import weekly_hours, zoned_dates

LONDON = ZoneInfo("Europe/London")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
ALL_WEEK = range(7)


def every_day(*stretches):
    """The same hours on each day, given as pairs like "09:00"."""
    return weekly(
        (day, time.fromisoformat(opens), time.fromisoformat(closes)) for day in ALL_WEEK for opens, closes in stretches
    )


def on(day, hours, zone, closed=()):
    """The opening intervals of one ISO date, as strings in the zone with their offset."""
    day = date.fromisoformat(day)
    return [
        f"{each.start.astimezone(zone):%H:%M%z} {each.end.astimezone(zone):%H:%M%z}"
        for each in opening_intervals(hours, zone, day, day, closed)
    ]


def watched(hours, zone, days, closed):
    """The open minutes, found by reading the clock at every minute from UTC."""
    start = datetime.combine(days[0], time(0), tzinfo=UTC) - timedelta(hours=40)
    shown = [
        (start + timedelta(minutes=minute)).astimezone(zone).replace(tzinfo=None, fold=0)
        for minute in range((len(days) * 24 + 96) * 60)
    ]
    opened = set()
    for day in days:
        for each in () if day in closed else hours.on(day):
            opens = datetime.combine(day, each.opens)
            closes = datetime.combine(day + timedelta(days=each.closes == time(0)), each.closes)
            first, last = (next(i for i, reading in enumerate(shown) if reading >= wall) for wall in (opens, closes))
            opened.update(range(first, last))
    return {int(start.timestamp()) // 60 + minute for minute in opened}


@given(weekly_hours(), zoned_dates(), st.integers(1, 3), st.sets(st.integers(0, 3), max_size=2))
def test_opening_agrees_with_watching_the_clock(hours, zoned_date, length_days, closed_offsets):
    """Around clock changes, leap days and year ends the open minutes are those that a watcher counts."""
    zone, first_day = zoned_date
    days = [first_day + timedelta(days=n) for n in range(length_days)]
    closed = {first_day + timedelta(days=n) for n in closed_offsets}
    result = opening_intervals(hours, zone, days[0], days[-1], closed)
    assert result == union(result)
    minutes = {
        minute
        for each in result
        for minute in range(int(each.start.timestamp()) // 60, int(each.end.timestamp()) // 60)
    }
    assert minutes == watched(hours, zone, days, closed)


@given(weekly_hours(), zoned_dates(), st.integers(1, 6))
def test_a_range_is_the_sum_of_its_days(hours, zoned_date, split):
    """Asking day by day and asking at once give the same time."""
    zone, first_day = zoned_date
    last_day = first_day + timedelta(days=7)
    middle = first_day + timedelta(days=split)
    parts = (
        opening_intervals(hours, zone, first_day, middle),
        opening_intervals(hours, zone, middle + timedelta(days=1), last_day),
    )
    assert opening_intervals(hours, zone, first_day, last_day) == union(*parts)


def test_same_wall_time_all_year():
    """A studio opens at nine by the clock on the wall, in summer and in winter."""
    nine_to_five = every_day(("09:00", "17:00"))
    assert on("2025-01-15", nine_to_five, LONDON) == ["09:00+0000 17:00+0000"]
    assert on("2025-07-15", nine_to_five, LONDON) == ["09:00+0100 17:00+0100"]
    assert on("2025-03-30", nine_to_five, LONDON) == ["09:00+0100 17:00+0100"]


@pytest.mark.parametrize(
    ("zone", "spring", "autumn", "change_min"),
    [
        ("Europe/London", "2025-03-30", "2025-10-26", 60),
        ("America/New_York", "2025-03-09", "2025-11-02", 60),
        ("Australia/Lord_Howe", "2025-10-05", "2025-04-06", 30),
        ("Pacific/Chatham", "2025-09-28", "2025-04-06", 60),
        ("America/Santiago", "2025-09-07", "2025-04-05", 60),
        ("America/Havana", "2025-03-09", "2025-11-02", 60),
        ("Antarctica/Troll", "2025-03-30", "2025-10-26", 120),
        ("Africa/Casablanca", "2025-04-06", "2025-02-23", 60),
        ("America/Sao_Paulo", "2025-10-19", "2025-02-16", 0),
        ("Asia/Kathmandu", "2025-03-30", "2025-10-26", 0),
    ],
)
def test_a_day_without_closing_is_as_long_as_the_change_makes_it(zone, spring, autumn, change_min):
    """Open round the clock: the day is short when clocks go forward, long when they go back."""
    always = every_day(("00:00", "00:00"))
    for iso_day, sign in [(spring, -1), (autumn, 1)]:
        day = date.fromisoformat(iso_day)
        length = total(opening_intervals(always, ZoneInfo(zone), day, day))
        assert length == timedelta(hours=24, minutes=sign * change_min)


@pytest.mark.parametrize(
    ("opens", "closes", "expected"),
    [
        ("00:30", "03:00", ["00:30+0000 03:00+0100"]),  # 90 minutes instead of 150
        ("01:15", "03:00", ["02:00+0100 03:00+0100"]),  # opens in the skipped hour: when the clock jumps
        ("00:30", "01:30", ["00:30+0000 02:00+0100"]),  # closes in it: when the clock jumps
        ("01:15", "01:45", []),  # never shown at all
        ("01:00", "02:00", []),  # exactly the skipped hour
    ],
)
def test_hours_around_the_skipped_hour(opens, closes, expected):
    """London, 30 March 2025: 01:00 to 02:00 does not happen."""
    assert on("2025-03-30", every_day((opens, closes)), LONDON) == expected


@pytest.mark.parametrize(
    ("opens", "closes", "expected"),
    [
        ("00:30", "03:00", ["00:30+0100 03:00+0000"]),  # 210 minutes instead of 150
        ("01:15", "03:00", ["01:15+0100 03:00+0000"]),  # opens at the first showing
        ("00:30", "01:30", ["00:30+0100 01:30+0100"]),  # closes at the first showing
        ("01:15", "01:45", ["01:15+0100 01:45+0100"]),
        ("01:00", "02:00", ["01:00+0100 02:00+0000"]),  # 02:00 is first shown after both hours
    ],
)
def test_hours_around_the_repeated_hour(opens, closes, expected):
    """London, 26 October 2025: 01:00 to 02:00 happens twice."""
    assert on("2025-10-26", every_day((opens, closes)), LONDON) == expected


def test_half_hour_change():
    """Lord Howe Island skips 02:00 to 02:30 in October and repeats 01:30 to 02:00 in April."""
    early = every_day(("01:45", "02:45"))
    assert on("2025-10-05", early, LORD_HOWE) == ["01:45+1030 02:45+1100"]
    assert on("2025-04-06", early, LORD_HOWE) == ["01:45+1100 02:45+1030"]
    (spring,) = opening_intervals(early, LORD_HOWE, date(2025, 10, 5), date(2025, 10, 5))
    (autumn,) = opening_intervals(early, LORD_HOWE, date(2025, 4, 6), date(2025, 4, 6))
    assert spring.end - spring.start == timedelta(minutes=30)
    assert autumn.end - autumn.start == timedelta(minutes=90)


def test_a_date_that_a_zone_left_out_has_no_hours():
    """Samoa went from 29 straight to 31 December 2011."""
    samoa = ZoneInfo("Pacific/Apia")
    nine_to_five = every_day(("09:00", "17:00"))
    assert on("2011-12-30", nine_to_five, samoa) == []
    assert len(opening_intervals(nine_to_five, samoa, date(2011, 12, 29), date(2011, 12, 31))) == 2


def test_leap_day_and_year_end():
    """29 February follows its own weekday, and a week over new year has seven days."""
    thursdays = weekly([(3, time(9), time(17))])
    assert on("2024-02-29", thursdays, LONDON) == ["09:00+0000 17:00+0000"]
    assert on("2024-03-01", thursdays, LONDON) == []
    nine_to_five = every_day(("09:00", "17:00"))
    assert len(opening_intervals(nine_to_five, LONDON, date(2024, 12, 29), date(2025, 1, 4))) == 7
    assert len(opening_intervals(nine_to_five, LONDON, date(2024, 2, 26), date(2024, 3, 3))) == 7


def test_breaks_and_closures():
    """A lunch break makes two intervals; a closed date has none, and only that date."""
    hours = every_day(("13:00", "17:00"), ("09:00", "12:30"))
    assert on("2025-06-02", hours, LONDON) == ["09:00+0100 12:30+0100", "13:00+0100 17:00+0100"]
    closed = frozenset({date(2025, 6, 3)})
    around = opening_intervals(hours, LONDON, date(2025, 6, 2), date(2025, 6, 4), closed)
    assert {each.start.date() for each in around} == {date(2025, 6, 2), date(2025, 6, 4)}


def test_closing_at_midnight_ends_the_day():
    """00:00 as closing time is the end of the day, and meets an opening at 00:00 without a seam."""
    evening = weekly([(4, time(18), time(0)), (5, time(0), time(2))])
    (night,) = opening_intervals(evening, LONDON, date(2025, 6, 6), date(2025, 6, 7))
    assert night == Interval(datetime(2025, 6, 6, 17, tzinfo=UTC), datetime(2025, 6, 7, 1, tzinfo=UTC))


def test_hours_across_midnight_are_refused():
    """18:00 to 01:00 is refused with both times."""
    with pytest.raises(HoursCrossMidnightError, match="18:00 to 01:00 run past midnight") as refused:
        weekly([(0, time(18), time(1))])
    assert (refused.value.opens, refused.value.closes) == (time(18), time(1))


def test_empty_hours_are_refused():
    """Closing when opening is refused, except round the clock."""
    with pytest.raises(EmptyHoursError, match="09:00"):
        DayHours(time(9), time(9))
    assert DayHours(time(0), time(0)).closes == time(0)


@pytest.mark.parametrize(
    "stretches",
    [
        [(time(9), time(13)), (time(12, 55), time(17))],
        [(time(9), time(17)), (time(9), time(12))],
        [(time(9), time(0)), (time(20), time(21))],
        [(time(20), time(0)), (time(9), time(20, 5))],
    ],
)
def test_overlapping_hours_are_refused(stretches):
    """Two stretches of a day may touch but not overlap, whichever comes first."""
    for order in (stretches, stretches[::-1]):
        with pytest.raises(OverlappingHoursError):
            weekly((2, opens, closes) for opens, closes in order)


def test_touching_hours_are_one_interval():
    """09:00 to 12:00 and 12:00 to 17:00 is 09:00 to 17:00."""
    hours = every_day(("12:00", "17:00"), ("09:00", "12:00"))
    assert on("2025-01-15", hours, LONDON) == ["09:00+0000 17:00+0000"]


@pytest.mark.parametrize("weekday", [-1, 7])
def test_unknown_weekdays_are_refused(weekday):
    """There are seven weekdays, and the last one is not written -1."""
    with pytest.raises(UnknownWeekdayError):
        weekly([(weekday, time(9), time(17))])


@pytest.mark.parametrize("odd", [time(9, 1), time(9, 0, 1), time(9, 0, 0, 1)])
def test_hours_off_the_five_minute_marks_are_refused(odd):
    """Opening and closing lie on five-minute marks, since sessions do."""
    with pytest.raises(OffGridError):
        DayHours(odd, time(17))
    with pytest.raises(OffGridError):
        DayHours(time(8), odd)


def test_hours_with_a_zone_are_refused():
    """Hours are wall times; a zone on them would be a second one."""
    with pytest.raises(ZonedWallTimeError):
        DayHours(time(9, tzinfo=UTC), time(17, tzinfo=UTC))


def test_backward_and_boundless_ranges_are_refused():
    """The last day does not come before the first, and both lie in years the calendar can reckon with."""
    hours = every_day(("09:00", "00:00"))
    with pytest.raises(BackwardDatesError):
        opening_intervals(hours, LONDON, date(2025, 1, 2), date(2025, 1, 1))
    for day in (date.min, date.max):
        with pytest.raises(CalendarRangeError):
            opening_intervals(hours, LONDON, day, day)
    assert len(opening_intervals(hours, LONDON, date(9998, 12, 31), date(9998, 12, 31))) == 1
