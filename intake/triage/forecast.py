"""How many bench minutes a session will lose: an exact distribution on a one-minute grid, nothing dropped beyond it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from intake.catalogue.schema import BenchMinutes
from intake.triage.errors import ImpossibleProbabilityError, SlotError
from intake.triage.lognormal import Distribution, discretised, mean_min

Part: TypeAlias = tuple[float, BenchMinutes | None]

LEAST_HORIZON_MIN = 240
BEYOND_SLOT_MIN = 120
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a session can expect to lose to mechanical work.

    Attributes
    ----------
    pmf : array of float, read-only
        Probability of 0, 1, 2 … bench minutes; the last cell is that minute and all beyond.
    planned_min, slack_min : int
        Hands-on minutes that were planned, and minutes that may be lost before they shrink [min].
    expected_min : float
        Mean bench minutes, from the lognormal means, so that the end of the grid does not shorten it [min].
    readiness_pct : float
        Share of the planned hands-on minutes that the session can expect to keep, 0 to 100 [%].
    chance : float
        Probability that the session runs to plan: bench minutes within the slack.
    """

    pmf: Distribution = field(compare=False, repr=False)
    planned_min: int
    slack_min: int
    expected_min: float
    readiness_pct: float
    chance: float

    @property
    def last_min(self) -> int:
        """The minute of the last cell; what lies in it may take longer."""
        return len(self.pmf) - 1

    def quantile_min(self, share: float) -> int:
        """Return the fewest minutes that are enough in this share of sessions; ``last_min`` means that many or more."""
        if not 0 <= share <= 1:
            raise ImpossibleProbabilityError("quantile", share)
        reached = int(np.searchsorted(np.cumsum(self.pmf), share - ROUNDING))
        return min(reached, self.last_min)


def check_slot(planned_min: int, slack_min: int) -> None:
    """Raise SlotError unless there are planned minutes and the slack is not negative."""
    if planned_min <= 0 or slack_min < 0:
        raise SlotError(planned_min, slack_min)


def horizon_cells(planned_min: int, slack_min: int) -> int:
    """Return the length of the grid: well beyond the slot, and at least four hours.

    >>> horizon_cells(90, 15)
    241
    >>> horizon_cells(150, 30)
    301
    """
    check_slot(planned_min, slack_min)
    return 1 + max(LEAST_HORIZON_MIN, planned_min + slack_min + BEYOND_SLOT_MIN)


def check_distribution(parts: Iterable[Part], cells: int) -> Distribution | None:
    """Return the bench minutes of one check, or None where it can cost none.

    Parameters
    ----------
    parts : iterable of (probability, BenchMinutes or None)
        The check's faults. Those below 1 exclude one another: with what is left of the probability the check costs nothing.
        Those at 1 are certain, and where lengths show more than one, each costs its own minutes.
    cells : int
        Length of the grid.

    Raises
    ------
    ImpossibleProbabilityError
        Where a probability is not from 0 to 1, or the exclusive ones add to more than 1.
    """
    costly = [(share, minutes) for share, minutes in _checked(parts) if minutes is not None and share > 0]
    if not costly:
        return None
    sure = [discretised(minutes, cells) for share, minutes in costly if share >= 1 - ROUNDING]
    mixed = [(share, discretised(minutes, cells)) for share, minutes in costly if share < 1 - ROUNDING]
    return total(([_mixture(mixed, cells)] if mixed else []) + sure, cells)


def _checked(parts: Iterable[Part]) -> list[Part]:
    parts = list(parts)
    for share, _ in parts:
        if not 0 <= share <= 1 + ROUNDING:
            raise ImpossibleProbabilityError("fault", share)
    doubtful = sum(share for share, _ in parts if share < 1 - ROUNDING)
    if doubtful > 1 + ROUNDING:
        raise ImpossibleProbabilityError("faults of one check together", doubtful)
    return parts


def _mixture(parts: Sequence[tuple[float, Distribution]], cells: int) -> Distribution:
    mixed = np.zeros(cells)
    mixed[0] = max(0.0, 1.0 - sum(share for share, _ in parts))
    for share, pmf in parts:
        mixed += share * pmf
    return mixed


def total(distributions: Iterable[Distribution], cells: int) -> Distribution:
    """Return the distribution of a sum of independent minutes by direct convolution.

    A sum that involves a last cell is at least the last minute, so everything that a convolution carries beyond the grid belongs
    to the last cell.
    """
    left = iter(distributions)
    summed = next(left, None)
    if summed is None:
        return nothing_lost(cells)
    for pmf in left:
        wide = np.convolve(summed, pmf)
        summed = wide[:cells]
        summed[-1] += wide[cells:].sum()
    return summed


def head(distributions: Iterable[Distribution], minutes: int) -> Distribution:
    """Return P(sum = 0), … P(sum = minutes) alone, which needs only the same heads of what is summed: exact and cheap."""
    summed = nothing_lost(minutes + 1)
    for pmf in distributions:
        summed = np.convolve(summed, pmf[: minutes + 1])[: minutes + 1]
    return summed


def nothing_lost(cells: int) -> Distribution:
    """Return the distribution of no minutes at all.

    >>> nothing_lost(3).tolist()
    [1.0, 0.0, 0.0]
    """
    pmf = np.zeros(cells)
    pmf[0] = 1.0
    return pmf


def forecast(checks: Iterable[Sequence[Part]], planned_min: int, slack_min: int) -> Forecast:
    """Forecast a session from the faults that its checks may show.

    Parameters
    ----------
    checks : iterable of sequences of (probability, BenchMinutes or None)
        For each check its faults, as for `check_distribution`; checks are independent.
    planned_min : int
        Planned hands-on minutes, above 0 [min].
    slack_min : int
        Minutes that can be lost before the hands-on minutes shrink, 0 or more [min].

    Notes
    -----
    With T the bench minutes, readiness is 100 · E[min(planned, max(0, planned + slack − T))] / planned, and the chance to run to
    plan is P(T ≤ slack), both on the grid.

    Raises
    ------
    SlotError, BenchMinutesError, ImpossibleProbabilityError

    Examples
    --------
    >>> seized_bolt = [(1.0, BenchMinutes(median_min=30, p90_min=30))]
    >>> lost = forecast([seized_bolt], planned_min=100, slack_min=10)
    >>> lost.readiness_pct, lost.chance
    (80.0, 0.0)
    """
    cells = horizon_cells(planned_min, slack_min)
    checks = [list(parts) for parts in checks]
    known = (check_distribution(parts, cells) for parts in checks)
    pmf = total((one for one in known if one is not None), cells)
    expected_min = math.fsum(share * mean_min(minutes) for parts in checks for share, minutes in parts if minutes)
    return forecast_of(pmf, planned_min, slack_min, expected_min)


def forecast_of(pmf: Distribution, planned_min: int, slack_min: int, expected_min: float) -> Forecast:
    """Return the forecast that a distribution of bench minutes means for a session; the distribution becomes read-only."""
    pmf.setflags(write=False)
    kept_min = np.clip(planned_min + slack_min - np.arange(len(pmf)), 0, planned_min)
    return Forecast(
        pmf=pmf,
        planned_min=planned_min,
        slack_min=slack_min,
        expected_min=expected_min,
        readiness_pct=_within(0.0, 100.0 * float(pmf @ kept_min) / planned_min, 100.0),
        chance=_within(0.0, float(pmf[: slack_min + 1].sum()), 1.0),
    )


def _within(least: float, value: float, most: float) -> float:
    return min(most, max(least, value))
