"""Sets of time as half-open intervals in UTC.

A set is kept in **normal form**: a tuple of intervals in ascending order that neither overlap nor touch. Equal sets
have equal normal forms. Every function takes intervals in any order, overlapping or not, and returns a normal form.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import chain, islice

from sessions.diary.errors import EndBeforeStartError
from sessions.diary.zones import in_utc


@dataclass(frozen=True, slots=True, order=True)
class Interval:
    """The time from ``start`` up to, but not including, ``end``.

    Parameters
    ----------
    start, end : datetime
        With a zone; kept in UTC, in which differences are true elapsed time.

    Raises
    ------
    NaiveTimeError, CalendarRangeError, EndBeforeStartError
        If a time has no zone or leaves the calendar, or the interval would be empty.
    """

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        if self.start.tzinfo is not UTC:
            object.__setattr__(self, "start", in_utc(self.start))
        if self.end.tzinfo is not UTC:
            object.__setattr__(self, "end", in_utc(self.end))
        if self.end <= self.start:
            raise EndBeforeStartError(self.start, self.end)

    def overlaps(self, other: Interval) -> bool:
        """Tell whether the two share any time; intervals that only touch do not."""
        return self.start < other.end and other.start < self.end


def union(*sets: Iterable[Interval]) -> tuple[Interval, ...]:
    """Return the time in any of the sets; with one argument, its normal form."""
    merged: list[tuple[datetime, datetime]] = []
    for each in sorted(chain.from_iterable(sets)):
        if merged and each.start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], each.end))
        else:
            merged.append((each.start, each.end))
    return tuple(Interval(start, end) for start, end in merged)


def intersect(first: Iterable[Interval], second: Iterable[Interval]) -> tuple[Interval, ...]:
    """Return the time in both sets."""
    left, right = union(first), union(second)
    shared = []
    i = j = 0
    while i < len(left) and j < len(right):
        if left[i].overlaps(right[j]):
            shared.append(Interval(max(left[i].start, right[j].start), min(left[i].end, right[j].end)))
        if left[i].end <= right[j].end:
            i += 1
        else:
            j += 1
    return tuple(shared)


def subtract(first: Iterable[Interval], second: Iterable[Interval]) -> tuple[Interval, ...]:
    """Return the time in the first set that is not in the second.

    Examples
    --------
    >>> nine, ten, noon = (datetime(2025, 1, 1, hour, tzinfo=UTC) for hour in (9, 10, 12))
    >>> [f"{each.start:%H:%M}-{each.end:%H:%M}" for each in subtract([Interval(nine, noon)], [Interval(nine, ten)])]
    ['10:00-12:00']
    """
    holes = union(second)
    left: list[Interval] = []
    reached = 0
    for each in union(first):
        while reached < len(holes) and holes[reached].end <= each.start:
            reached += 1
        left.extend(_without(each, holes, reached))
    return tuple(left)


def contains(container: Iterable[Interval], interval: Interval) -> bool:
    """Tell whether a set holds the whole of an interval."""
    return any(each.start <= interval.start and interval.end <= each.end for each in union(container))


def total(intervals: Iterable[Interval]) -> timedelta:
    """Return how much time a set holds, overlaps counted once."""
    return sum((each.end - each.start for each in union(intervals)), timedelta())


def _without(whole: Interval, holes: tuple[Interval, ...], first_hole: int) -> Iterator[Interval]:
    begin = whole.start
    for hole in islice(holes, first_hole, None):
        if hole.start >= whole.end:
            break
        if hole.start > begin:
            yield Interval(begin, hole.start)
        begin = hole.end
    if begin < whole.end:
        yield Interval(begin, whole.end)
