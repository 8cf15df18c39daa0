"""The five-minute quantum: time counted in whole numbers, so that occupancy can be a row or a bit.

Quantum *q* is the half-open stretch from ``300·q`` to ``300·(q + 1)`` seconds after 1970-01-01 00:00 UTC.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sessions.diary.errors import EndBeforeStartError, OffGridError
from sessions.diary.zones import in_utc

QUANTUM_MIN = 5
DAY_MIN = 24 * 60

_QUANTUM = timedelta(minutes=QUANTUM_MIN)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def quanta(start: datetime, end: datetime) -> range:
    """Return the quanta that a half-open stretch of time occupies, in ascending order.

    Parameters
    ----------
    start, end : datetime
        On five-minute marks, in any zone.

    Raises
    ------
    NaiveTimeError, OffGridError, EndBeforeStartError
        If a time has no zone, is off its mark, or the stretch is empty.

    Examples
    --------
    >>> quanta(datetime(2025, 1, 1, 9, 0, tzinfo=UTC), datetime(2025, 1, 1, 9, 15, tzinfo=UTC))
    range(5785740, 5785743)
    """
    first, stop = _exact(start), _exact(end)
    if stop <= first:
        raise EndBeforeStartError(start, end)
    return range(first, stop)


def quantum_start(quantum: int) -> datetime:
    """Return the instant [UTC] at which a quantum begins.

    Examples
    --------
    >>> quantum_start(5785740).isoformat()
    '2025-01-01T09:00:00+00:00'
    """
    return _EPOCH + quantum * _QUANTUM


def quantum_holding(moment: datetime) -> int:
    """Return the quantum in which an instant lies; the instant needs a zone."""
    return (in_utc(moment) - _EPOCH) // _QUANTUM


def first_quantum_from(moment: datetime) -> int:
    """Return the first quantum that begins at an instant or later; the instant needs a zone."""
    return -((_EPOCH - in_utc(moment)) // _QUANTUM)


def _exact(moment: datetime) -> int:
    quantum, rest = divmod(in_utc(moment) - _EPOCH, _QUANTUM)
    if rest:
        raise OffGridError(moment)
    return quantum
