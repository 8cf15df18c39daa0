"""When a session can start: inside opening hours, on the studio's grid, with a fitter and a bay free.

All that a session occupies, its buffers included, must lie inside opening hours: preparing and clearing up are work
of the same people in the same rooms. All of it must also be clear of whatever else occupies the fitter and the bay.

Starts lie on the wall clock: every ``grid_min`` minutes from the first open moment of each local day. Where the
clocks go forward the skipped times are left out; where they go back both showings of a repeated time are starts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import compress
from zoneinfo import ZoneInfo

import numpy as np

from sessions.diary.errors import LengthError
from sessions.diary.intervals import Interval, union
from sessions.diary.need import Need
from sessions.diary.occupancy import Bits, Ints, Window, clear_spans
from sessions.diary.quanta import DAY_MIN, QUANTUM_MIN, first_quantum_from, quantum_holding, quantum_start
from sessions.diary.zones import offset_pieces

_QUANTUM_S = QUANTUM_MIN * 60
_DAY_S = DAY_MIN * 60


@dataclass(frozen=True, slots=True)
class FreeStart:
    """A time at which a session can start, and with whom and where.

    Parameters
    ----------
    start_utc : datetime
        When the session itself starts [UTC]; the buffer before it comes earlier.
    fitter_ids, bay_ids : tuple
        Who and which bays are clear for all of it, in the order in which they were given. Any pair will do.
    """

    start_utc: datetime
    fitter_ids: tuple[int, ...]
    bay_ids: tuple[int, ...]


def free_starts(
    open_hours: Iterable[Interval],
    fitters: Mapping[int, Iterable[Interval]],
    bays: Mapping[int, Iterable[Interval]],
    need: Need,
    *,
    zone: ZoneInfo,
    grid_min: int,
    not_before: datetime,
    not_after: datetime,
) -> tuple[FreeStart, ...]:
    """Find every time at which a session can start.

    Parameters
    ----------
    open_hours : iterable of Interval
        When the studio is open, whole local days at a time, since each day's grid begins where the day opens.
    fitters, bays : mapping of id to iterable of Interval
        What occupies each of those who may serve and may be used, buffers of other sessions included, in any order,
        overlapping or not. Someone who is free throughout is there with nothing. Hours of a fitter's own count as
        occupied outside them: ``subtract(open_hours, own_hours)``.
    need : Need
        The session and its buffers.
    zone : ZoneInfo
        Where the studio's wall clock hangs.
    grid_min : int
        Step between starts [min], a multiple of five up to a day.
    not_before, not_after : datetime
        The earliest and the latest start of the session itself, both included.

    Returns
    -------
    tuple of FreeStart
        In ascending order.

    Raises
    ------
    LengthError
        If the grid is no multiple of five minutes between five minutes and a day.
    NaiveTimeError, CalendarRangeError
        If a bound has no zone or leaves the calendar.

    Notes
    -----
    Time is cut into five-minute quanta. What is occupied for part of a quantum takes all of it; what is open for
    part of one opens none of it. A span is clear when the running count of busy quanta is the same at both its ends,
    so the cost grows with quanta times resources plus intervals, not with their product.

    Examples
    --------
    >>> from datetime import UTC
    >>> nine, ten, noon = (datetime(2025, 1, 6, hour, tzinfo=UTC) for hour in (9, 10, 12))
    >>> found = free_starts(
    ...     [Interval(nine, noon)], {1: [Interval(nine, ten)], 2: []}, {7: []}, Need(90),
    ...     zone=ZoneInfo("Europe/London"), grid_min=30, not_before=nine, not_after=noon,
    ... )
    >>> [(f"{each.start_utc:%H:%M}", each.fitter_ids) for each in found]
    [('09:00', (2,)), ('09:30', (2,)), ('10:00', (1, 2)), ('10:30', (1, 2))]
    """
    if grid_min % QUANTUM_MIN or not QUANTUM_MIN <= grid_min <= DAY_MIN:
        raise LengthError("Grid", grid_min)
    earliest, latest = first_quantum_from(not_before), quantum_holding(not_after)
    opened = union(open_hours)
    window = Window.around(opened)
    is_open = window.filled(opened)
    starts = _on_grid(is_open, window, zone, grid_min)
    starts = starts[(starts >= earliest - window.first) & (starts <= latest - window.first)]
    starts = _inside_hours(starts, is_open, need)
    fitters_clear = _clear(fitters, window, starts, need)
    bays_clear = _clear(bays, window, starts, need)
    free = fitters_clear.any(axis=0) & bays_clear.any(axis=0)
    return tuple(
        FreeStart(quantum_start(quantum), fitter_ids, bay_ids)
        for quantum, fitter_ids, bay_ids in zip(
            (starts[free] + window.first).tolist(),
            _who(list(fitters), fitters_clear[:, free]),
            _who(list(bays), bays_clear[:, free]),
            strict=True,
        )
    )


def _on_grid(is_open: Bits, window: Window, zone: ZoneInfo, grid_min: int) -> Ints:
    """Return the open columns whose wall time is a whole number of steps after the day's first open one."""
    columns = np.flatnonzero(is_open)
    local_s = _local_seconds(window, zone)[columns]
    _, first_of_day, day_of = np.unique(local_s // _DAY_S, return_index=True, return_inverse=True)
    since_opening_s = local_s - local_s[first_of_day][day_of]
    on_grid: Ints = columns[since_opening_s % (grid_min * 60) == 0]
    return on_grid


def _local_seconds(window: Window, zone: ZoneInfo) -> Ints:
    """Return what the wall clock shows when each quantum begins [s since 1970-01-01 00:00 by the same clock]."""
    local_s = (window.first + np.arange(window.size, dtype=np.int64)) * _QUANTUM_S
    stop = window.first + window.size
    for piece in offset_pieces(quantum_start(window.first), quantum_start(stop), zone):
        begin, end = (first_quantum_from(each) - window.first for each in (piece.start_utc, piece.end_utc))
        local_s[begin:end] += piece.offset_s
    return local_s


def _inside_hours(starts: Ints, is_open: Bits, need: Need) -> Ints:
    begins = starts - need.before_min // QUANTUM_MIN
    length = need.total_min // QUANTUM_MIN
    fits = (begins >= 0) & (begins + length <= len(is_open))
    starts, begins = starts[fits], begins[fits]
    inside: Ints = starts[clear_spans(~is_open[np.newaxis], begins, length)[0]]
    return inside


def _clear(busy_by_id: Mapping[int, Iterable[Interval]], window: Window, starts: Ints, need: Need) -> Bits:
    """Return which resources are clear for a session at which starts; shape (resources, starts)."""
    busy = np.zeros((len(busy_by_id), window.size), dtype=np.bool_)
    for row, intervals in enumerate(busy_by_id.values()):
        busy[row] = window.touched(intervals)
    return clear_spans(busy, starts - need.before_min // QUANTUM_MIN, need.total_min // QUANTUM_MIN)


def _who(ids: Sequence[int], clear: Bits) -> list[tuple[int, ...]]:
    """Return, for each column, the ids of the rows that are true; equal sets are the same tuple."""
    packed = np.packbits(clear, axis=0)
    keys = packed.T.tobytes()
    width = max(1, len(packed))
    known: dict[bytes, tuple[int, ...]] = {}
    who = []
    for column in range(clear.shape[1]):
        key = keys[column * width : (column + 1) * width]
        if key not in known:
            known[key] = tuple(compress(ids, clear[:, column]))
        who.append(known[key])
    return who
