"""Opening hours: what the sign on the door says, week after week, as time in UTC."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

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
from sessions.diary.intervals import Interval, union
from sessions.diary.quanta import QUANTUM_MIN
from sessions.diary.zones import first_reaching

MIDNIGHT = time(0, 0)
_ONE_DAY = timedelta(days=1)
_WEEK = 7
# Before 1970 many zones were off by odd seconds; the year 9999 has no day after its last one.
_YEARS = range(1970, 9999)


@dataclass(frozen=True, slots=True, order=True)
class DayHours:
    """One stretch of a day's hours, by the wall clock.

    Parameters
    ----------
    opens, closes : time
        Local times on five-minute marks. Closing at 00:00 means the midnight that ends the day.

    Raises
    ------
    HoursCrossMidnightError, EmptyHoursError
        If the hours close on the next day, or when they open.
    OffGridError, ZonedWallTimeError
        If a time is off its five-minute mark, or carries a zone.

    Examples
    --------
    >>> DayHours(time(18, 0), time(1, 0))
    Traceback (most recent call last):
        ...
    sessions.diary.errors.HoursCrossMidnightError: Hours from 18:00 to 01:00 run past midnight; close at 00:00.
    """

    opens: time
    closes: time

    def __post_init__(self) -> None:
        for each in (self.opens, self.closes):
            _check_mark(each)
        if self.closes == MIDNIGHT:
            return
        if self.closes < self.opens:
            raise HoursCrossMidnightError(self.opens, self.closes)
        if self.closes == self.opens:
            raise EmptyHoursError(self.opens)


@dataclass(frozen=True, slots=True)
class WeeklyHours:
    """The hours of each weekday.

    Parameters
    ----------
    days : tuple
        Seven entries, Monday first, each the day's stretches in ascending order; an empty one is a closed day.
        Build it with `weekly`, which sorts and checks.
    """

    days: tuple[tuple[DayHours, ...], ...]

    def on(self, day: date) -> tuple[DayHours, ...]:
        """Return the stretches of a date's weekday."""
        return self.days[day.weekday()]


def weekly(stretches: Iterable[tuple[int, time, time]]) -> WeeklyHours:
    """Build a week from (weekday, opens, closes) in any order; Monday is 0.

    Raises
    ------
    UnknownWeekdayError, OverlappingHoursError
        If a weekday is not 0 to 6, or two stretches of a day overlap; they may touch.
    DiaryError
        Whatever `DayHours` refuses.
    """
    days: list[list[DayHours]] = [[] for _ in range(_WEEK)]
    for weekday, opens, closes in stretches:
        if weekday not in range(_WEEK):
            raise UnknownWeekdayError(weekday)
        days[weekday].append(DayHours(opens, closes))
    for day in days:
        day.sort()
        for earlier, later in pairwise(day):
            if earlier.closes == MIDNIGHT or later.opens < earlier.closes:
                raise OverlappingHoursError(later.opens, earlier.closes)
    return WeeklyHours(tuple(tuple(day) for day in days))


def opening_intervals(
    hours: WeeklyHours, zone: ZoneInfo, first_day: date, last_day: date, closed: Collection[date] = ()
) -> tuple[Interval, ...]:
    """Return when the doors are open from the first to the last local day, both included.

    Parameters
    ----------
    hours : WeeklyHours
        The weekly pattern, by the wall clock.
    zone : ZoneInfo
        Where the wall clock hangs.
    first_day, last_day : date
        Local dates, 1970 to 9998.
    closed : collection of date
        Local dates that stay closed: closures and public holidays.

    Returns
    -------
    tuple of Interval
        In normal form, so hours that meet at midnight are one interval.

    Raises
    ------
    BackwardDatesError, CalendarRangeError
        If the range runs backwards or leaves the calendar.

    Notes
    -----
    A stretch opens at the first instant at which the wall clock shows its opening time or a later one, and closes
    likewise. So a stretch that holds the skipped hour is an hour shorter, one inside it vanishes, one that holds the
    repeated hour is an hour longer, and one that opens or closes within the repeated hour does so at its first showing.

    Examples
    --------
    >>> from datetime import date, time
    >>> night = weekly([(6, time(0, 0), time(3, 0))])
    >>> (spring,) = opening_intervals(night, ZoneInfo("Europe/London"), date(2025, 3, 30), date(2025, 3, 30))
    >>> spring.end - spring.start
    datetime.timedelta(seconds=7200)
    """
    for day in (first_day, last_day):
        if day.year not in _YEARS:
            raise CalendarRangeError(day)
    if last_day < first_day:
        raise BackwardDatesError(first_day, last_day)
    open_days = (day for day in _days(first_day, last_day) if day not in closed)
    return union(each for day in open_days for each in _of_day(hours.on(day), day, zone))


def _days(first_day: date, last_day: date) -> Iterator[date]:
    return (first_day + n * _ONE_DAY for n in range((last_day - first_day).days + 1))


def _of_day(stretches: tuple[DayHours, ...], day: date, zone: ZoneInfo) -> Iterator[Interval]:
    for each in stretches:
        closing_day = day + _ONE_DAY if each.closes == MIDNIGHT else day
        start = first_reaching(datetime.combine(day, each.opens), zone)
        end = first_reaching(datetime.combine(closing_day, each.closes), zone)
        if start < end:
            yield Interval(start, end)


def _check_mark(wall: time) -> None:
    if wall.tzinfo is not None:
        raise ZonedWallTimeError(wall)
    if wall.minute % QUANTUM_MIN or wall.second or wall.microsecond:
        raise OffGridError(wall)
