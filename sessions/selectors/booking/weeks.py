"""Free starts as a rider leafs through them: week by week, in the studio's local time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sessions.diary.choices import LocalStart, by_day
from sessions.diary.free_starts import FreeStart

ONE_DAY = timedelta(days=1)
ONE_WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Day:
    """One local date and the free starts on it."""

    day: date
    starts: tuple[LocalStart, ...]


@dataclass(frozen=True)
class Week:
    """Seven local dates from a Monday, less those outside what can be booked, and the Mondays to leaf to."""

    monday: date
    days: tuple[Day, ...]
    previous: date | None
    next: date | None
    next_free: date | None
    clock: str
    clocks_change: bool

    @property
    def last_day(self) -> date:
        """Return the last date shown."""
        return self.days[-1].day

    @property
    def has_starts(self) -> bool:
        """Return whether anything is free."""
        return any(day.starts for day in self.days)


def monday_of(day: date) -> date:
    """Return the Monday of a date's week."""
    return day - timedelta(days=day.weekday())


def week_of(
    starts: Sequence[FreeStart], zone: ZoneInfo, first_day: date, last_day: date, wanted: date | None = None
) -> Week:
    """Return the wanted week, or the first with a free start; a date outside what can be booked gives the nearest week."""
    by_date = {each.day: each.starts for each in by_day(starts, zone)}
    if wanted is None:
        wanted = min(by_date, default=first_day)
    monday = monday_of(min(max(wanted, first_day), last_day))
    days = [day for day in _dates(monday) if first_day <= day <= last_day]
    names = clock_names(zone, monday)
    return Week(
        monday=monday,
        days=tuple(Day(day, by_date.get(day, ())) for day in days),
        previous=monday - ONE_WEEK if monday > first_day else None,
        next=monday + ONE_WEEK if monday + ONE_WEEK <= last_day else None,
        next_free=min((monday_of(day) for day in by_date if day >= monday + ONE_WEEK), default=None),
        clock=", ".join(names),
        clocks_change=len(names) > 1,
    )


def _dates(monday: date) -> Iterable[date]:
    return (monday + offset * ONE_DAY for offset in range(7))


def clock_names(zone: ZoneInfo, monday: date) -> tuple[str, ...]:
    """Return what the local time is called in a week: two names where the clocks change."""
    noons = (datetime.combine(day, time(12), zone) for day in _dates(monday))
    return tuple(dict.fromkeys(clock_name(noon) for noon in noons))


def clock_name(local: datetime) -> str:
    """Return the name of a local time, such as GMT, or its distance from UTC where the zone has no names.

    >>> clock_name(datetime(2026, 7, 1, 9, 0, tzinfo=ZoneInfo("Europe/London")))
    'BST'
    >>> clock_name(datetime(2026, 7, 1, 9, 0, tzinfo=ZoneInfo("America/Sao_Paulo")))
    'UTC−03:00'
    """
    name = local.tzname() or ""
    if name.isalpha():
        return name
    return f"UTC{local.isoformat()[-6:].replace('-', '−')}"
