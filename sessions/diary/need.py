"""How much time a session takes, and which part of it the rider is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sessions.diary.errors import CalendarRangeError, LengthError
from sessions.diary.intervals import Interval
from sessions.diary.quanta import DAY_MIN, QUANTUM_MIN
from sessions.diary.zones import in_utc


@dataclass(frozen=True, slots=True)
class Need:
    """A session with the buffers around it.

    The session is what the rider is told. The buffers are the studio's, to prepare and to clear up; they occupy the
    fitter and the bay just as the session does.

    Parameters
    ----------
    session_min : int
        Length of the session [min].
    before_min, after_min : int
        Buffers [min].

    Raises
    ------
    LengthError
        If a length is no multiple of five minutes or negative, the session is empty, or the whole exceeds a day.

    Examples
    --------
    >>> Need(120, before_min=10, after_min=20).total_min
    150
    """

    session_min: int
    before_min: int = 0
    after_min: int = 0

    def __post_init__(self) -> None:
        _check_length("Session", self.session_min, least_min=QUANTUM_MIN)
        _check_length("Buffer before", self.before_min)
        _check_length("Buffer after", self.after_min)
        _check_length("Session and buffers", self.total_min)

    @property
    def total_min(self) -> int:
        """The session and both buffers [min]."""
        return self.before_min + self.session_min + self.after_min

    def session(self, start: datetime) -> Interval:
        """Return the session itself if it starts at ``start``."""
        return _reaching(start, 0, self.session_min)

    def occupied(self, start: datetime) -> Interval:
        """Return all that the session occupies, buffers included, if the session itself starts at ``start``.

        Raises
        ------
        NaiveTimeError, CalendarRangeError
            If the start has no zone, or the session would leave the calendar.
        """
        return _reaching(start, -self.before_min, self.session_min + self.after_min)


def _reaching(start: datetime, from_min: int, to_min: int) -> Interval:
    start_utc = in_utc(start)
    try:
        return Interval(start_utc + timedelta(minutes=from_min), start_utc + timedelta(minutes=to_min))
    except OverflowError as error:
        raise CalendarRangeError(start) from error


def _check_length(name: str, minutes: int, *, least_min: int = 0) -> None:
    if minutes % QUANTUM_MIN or not least_min <= minutes <= DAY_MIN:
        raise LengthError(name, minutes)
