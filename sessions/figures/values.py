"""What the figures are computed from: sessions that were held, as plain values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

import numpy as np

BAND = 0.90
ROUNDING = 1e-6  # Stored distributions are rounded: a share that is reached but for this counts as reached.


class Moment(StrEnum):
    """When the triage was kept, in order of time."""

    BOOKING = "booking"
    THREE_DAYS = "three_days"
    DAY = "day"


class PutRightBy(StrEnum):
    """Who put a finding right, or that nobody said."""

    RIDER = "rider"
    WORKSHOP = "workshop"
    PART = "part"
    STUDIO = "studio"
    UNSAID = "unsaid"


@dataclass(frozen=True, slots=True)
class ForecastShape:
    """A forecast of bench minutes in four numbers [min]: mean, the ends of its 90 % band, and the 90th percentile."""

    mean_min: float
    low_min: int
    high_min: int
    p90_min: int

    def holds(self, minutes: int) -> bool:
        """Say whether so many minutes lie within the band, its ends included."""
        return self.low_min <= minutes <= self.high_min


@dataclass(frozen=True, slots=True)
class HeldSession:
    """A session that was held.

    Attributes
    ----------
    session_id : int
        The studio's own number of the session; it names no rider.
    day : date
        The local day on which it was held.
    service : str
    planned_min, slack_min : int
        Hands-on minutes that were planned, and minutes that could be lost before they shrink [min].
    verdicts : mapping of Moment to str
        The verdict at each moment that was kept.
    readiness_pct : float or None
        On the day; None where that moment was not kept.
    forecast : ForecastShape or None
        On the day.
    actual_min : int or None
        Minutes that were noted as lost; None while the record is open, since more may follow.
    put_right : mapping of str to PutRightBy
        By finding key, who put it right.
    """

    session_id: int
    day: date
    service: str
    planned_min: int
    slack_min: int
    verdicts: Mapping[Moment, str] = field(default_factory=dict)
    readiness_pct: float | None = None
    forecast: ForecastShape | None = None
    actual_min: int | None = None
    put_right: Mapping[str, PutRightBy] = field(default_factory=dict)

    @property
    def month(self) -> date:
        """The first day of its month."""
        return self.day.replace(day=1)

    @property
    def kept_min(self) -> int | None:
        """Planned hands-on minutes that were kept [min]: what was lost beyond the slack is taken off, down to nothing."""
        if self.actual_min is None:
            return None
        return min(self.planned_min, max(0, self.planned_min + self.slack_min - self.actual_min))


def shape_of(pmf: Sequence[float], mean_min: float) -> ForecastShape:
    """Return a forecast in four numbers.

    Parameters
    ----------
    pmf : sequence of float
        Probability of 0, 1, 2 … bench minutes; the last cell is that minute and all beyond. It may be a little off 1 by rounding.
    mean_min : float
        Its mean [min], which the last cell cannot tell.

    Notes
    -----
    The band runs from the 5th to the 95th percentile; a percentile is the fewest minutes that are enough in that share of sessions.

    Raises
    ------
    ValueError
        Where there is no cell, or nothing in any.

    Examples
    --------
    >>> shape_of([0.5] + [0.0] * 9 + [0.5], mean_min=5.0)
    ForecastShape(mean_min=5.0, low_min=0, high_min=10, p90_min=10)
    """
    reached = np.cumsum(np.asarray(pmf, dtype=float))
    if not reached.size or not reached[-1] > 0:
        raise ValueError("A forecast needs at least one probability above 0.")
    ends = np.array([(1 - BAND) / 2, (1 + BAND) / 2, 0.9]) * reached[-1]
    low, high, p90 = (int(each) for each in np.searchsorted(reached, ends - ROUNDING))
    return ForecastShape(mean_min, low, high, p90)
