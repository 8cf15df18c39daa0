"""Wall clocks and instants: between a studio's local time and UTC, right at both clock changes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from sessions.diary.errors import (
    CalendarRangeError,
    NaiveTimeError,
    SkippedTimeError,
    UnknownZoneError,
    ZonedWallTimeError,
)

# No zone of the IANA database changes its clocks twice within so short a time.
_PROBE = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class OffsetPiece:
    """A stretch of time during which a zone keeps one offset.

    Parameters
    ----------
    start_utc, end_utc : datetime
        The half-open stretch [UTC].
    offset_s : int
        Local time minus UTC [s].
    """

    start_utc: datetime
    end_utc: datetime
    offset_s: int


def zone_named(name: str) -> ZoneInfo:
    """Return the IANA zone of this name.

    Raises
    ------
    UnknownZoneError
        If the database has no such zone; a path, an empty name and a null byte are no zones either.

    Examples
    --------
    >>> zone_named("Europe/London").key
    'Europe/London'
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise UnknownZoneError(name) from error


def in_utc(moment: datetime) -> datetime:
    """Return the same instant in UTC.

    Raises
    ------
    NaiveTimeError
        If the moment has no zone.
    CalendarRangeError
        If the instant leaves the years 1 to 9999.
    """
    if moment.tzinfo is UTC:
        return moment
    if moment.utcoffset() is None:
        raise NaiveTimeError(moment)
    try:
        return moment.astimezone(UTC)
    except OverflowError as error:
        raise CalendarRangeError(moment) from error


def to_utc(wall: datetime, zone: ZoneInfo, *, second: bool = False) -> datetime:
    """Return the instant at which the wall clock of a zone shows a time that somebody typed.

    Parameters
    ----------
    wall : datetime
        A time without zone, as the wall clock shows it.
    zone : ZoneInfo
        Where the clock hangs.
    second : bool
        In the hour that the clock shows twice: take its second showing instead of its first.

    Raises
    ------
    SkippedTimeError
        If the clocks go forward over this time.
    ZonedWallTimeError, CalendarRangeError
        If the time carries a zone, or lies outside the calendar.

    Examples
    --------
    >>> to_utc(datetime(2025, 7, 1, 9, 0), zone_named("Europe/London")).isoformat()
    '2025-07-01T08:00:00+00:00'
    >>> to_utc(datetime(2025, 3, 30, 1, 30), zone_named("Europe/London"))
    Traceback (most recent call last):
    sessions.diary.errors.SkippedTimeError: 01:30 does not happen on 2025-03-30: the clocks go forward and continue at 02:00.
    """
    instant = _instant(wall, zone, fold=int(second))
    if _wall(instant, zone) == wall.replace(fold=0):
        return instant
    raise SkippedTimeError(wall, _wall(first_reaching(wall, zone), zone))


def first_reaching(wall: datetime, zone: ZoneInfo) -> datetime:
    """Return the first instant at which the wall clock shows this time or a later one.

    A time that is shown twice is met at its first showing, which is also how RFC 5545 section 3.3.5 reads it; a
    time that is skipped is met at the instant when the clocks go forward.

    Raises
    ------
    ZonedWallTimeError, CalendarRangeError
        If the time carries a zone, or lies outside the calendar.

    Examples
    --------
    >>> london = zone_named("Europe/London")
    >>> first_reaching(datetime(2025, 3, 30, 1, 30), london).isoformat()
    '2025-03-30T01:00:00+00:00'
    >>> first_reaching(datetime(2025, 10, 26, 1, 30), london).isoformat()
    '2025-10-26T00:30:00+00:00'
    """
    instant = _instant(wall, zone, fold=0)
    if _wall(instant, zone) == wall.replace(fold=0):
        return instant
    # PEP 495: in a gap the two folds give the instants just before and just after the jump
    return _change_between(_instant(wall, zone, fold=1), instant, zone)


def is_repeated(moment: datetime, zone: ZoneInfo) -> bool:
    """Tell whether the wall clock shows this instant's time twice, so that the time alone does not name it."""
    local = in_utc(moment).astimezone(zone)
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def offset_pieces(start_utc: datetime, end_utc: datetime, zone: ZoneInfo) -> tuple[OffsetPiece, ...]:
    """Split a stretch of time where the zone changes its clocks.

    Returns
    -------
    tuple of OffsetPiece
        In order, without gaps, covering the stretch; empty if the stretch is.
    """
    pieces = []
    begin = start_utc
    for probe in _probes(start_utc, end_utc):
        if _offset_s(begin, zone) != _offset_s(probe, zone):
            change = _change_between(begin, probe, zone)
            pieces.append(OffsetPiece(begin, change, _offset_s(begin, zone)))
            begin = change
    if begin < end_utc:
        pieces.append(OffsetPiece(begin, end_utc, _offset_s(begin, zone)))
    return tuple(pieces)


def _probes(start: datetime, end: datetime) -> Iterator[datetime]:
    while end - start > _PROBE:
        start += _PROBE
        yield start
    yield end


def _instant(wall: datetime, zone: ZoneInfo, *, fold: int) -> datetime:
    if wall.tzinfo is not None:
        raise ZonedWallTimeError(wall)
    return in_utc(wall.replace(tzinfo=zone, fold=fold))


def _wall(instant: datetime, zone: ZoneInfo) -> datetime:
    return instant.astimezone(zone).replace(tzinfo=None, fold=0)


def _offset_s(instant: datetime, zone: ZoneInfo) -> int:
    return int((_wall(instant, zone) - instant.replace(tzinfo=None)).total_seconds())


def _change_between(low: datetime, high: datetime, zone: ZoneInfo) -> datetime:
    """Return the first whole second after ``low`` with another offset, by bisection; ``high`` must have another one."""
    low = low.replace(microsecond=0)
    old_s = _offset_s(low, zone)
    same, changed = 0, int((high - low).total_seconds())
    while changed - same > 1:
        middle = (same + changed) // 2
        if _offset_s(low + timedelta(seconds=middle), zone) == old_s:
            same = middle
        else:
            changed = middle
    return low + timedelta(seconds=changed)
