"""Free starts as people are offered them: the nearest to what they wanted, or day by day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from heapq import nsmallest
from itertools import groupby
from zoneinfo import ZoneInfo

from sessions.diary.free_starts import FreeStart
from sessions.diary.zones import in_utc, is_repeated


@dataclass(frozen=True, slots=True)
class LocalStart:
    """A free start as the studio's wall clock shows it.

    Parameters
    ----------
    local : datetime
        The start in the studio's zone.
    is_repeated : bool
        Whether the clock shows this time twice that day, so that the zone's abbreviation must be said with it.
    free : FreeStart
        Who and where.
    """

    local: datetime
    is_repeated: bool
    free: FreeStart


@dataclass(frozen=True, slots=True)
class DayOfStarts:
    """A local date and the free starts on it, in ascending order; never empty."""

    day: date
    starts: tuple[LocalStart, ...]


def nearest(starts: Iterable[FreeStart], wanted: datetime, count: int) -> tuple[FreeStart, ...]:
    """Return the free starts nearest to a wanted time, nearest first; of two equally near ones the earlier first.

    Parameters
    ----------
    starts : iterable of FreeStart
    wanted : datetime
        In any zone.
    count : int
        How many at most; fewer if there are fewer.

    Raises
    ------
    NaiveTimeError
        If the wanted time has no zone.
    """
    wanted_utc = in_utc(wanted)
    return tuple(nsmallest(count, starts, key=lambda each: (abs(each.start_utc - wanted_utc), each.start_utc)))


def by_day(starts: Iterable[FreeStart], zone: ZoneInfo) -> tuple[DayOfStarts, ...]:
    """Group free starts by the studio's local date, days and times in ascending order."""
    ascending = sorted(starts, key=lambda each: each.start_utc)
    local = (LocalStart(each.start_utc.astimezone(zone), is_repeated(each.start_utc, zone), each) for each in ascending)
    days = groupby(local, key=lambda each: each.local.date())
    return tuple(DayOfStarts(day, tuple(of_day)) for day, of_day in days)
