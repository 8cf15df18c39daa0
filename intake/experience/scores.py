"""How good a forecast was, once it is known what happened: proper scores, in minutes and in shares."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from intake.catalogue.schema import BenchMinutes
from intake.experience.errors import JudgedForecastError
from intake.triage.lognormal import lognormal_parameters

STANDARD = NormalDist()
SUM_TOLERANCE = 1e-6


def cumulated(pmf: Sequence[float]) -> NDArray[np.float64]:
    """Return P(T ≤ 0), P(T ≤ 1) … of a forecast; JudgedForecastError where it is no distribution."""
    shares: NDArray[np.float64] = np.asarray(pmf, dtype=np.float64)
    if shares.ndim != 1 or not len(shares) or not np.all(shares >= -SUM_TOLERANCE):
        raise JudgedForecastError("forecast", list(pmf)[:5])
    reached = np.cumsum(shares)
    if not abs(reached[-1] - 1.0) <= SUM_TOLERANCE:
        raise JudgedForecastError("forecast, which adds to", float(reached[-1]))
    return np.asarray(np.minimum(reached / reached[-1], 1.0), dtype=np.float64)


def happened_cell(lost_min: int, cells: int) -> int:
    """Return the cell in which these minutes lie: the last one holds its own minute and all beyond."""
    if lost_min < 0:
        raise JudgedForecastError("loss in minutes", lost_min)
    return min(lost_min, cells - 1)


def crps(pmf: Sequence[float], lost_min: int) -> float:
    """Return the continuous ranked probability score of a forecast on the one-minute grid [min]; 0 is perfect.

    Notes
    -----
    Σₖ (F(k) − 1{lost ≤ k})², exact for a distribution on whole minutes. A forecast says of its last cell only "that many or more", so it
    is judged on min(T, last) against min(lost, last), which is a proper score of what it does say.

    References
    ----------
    Gneiting & Raftery 2007, *JASA* 102:359–378.

    Examples
    --------
    >>> crps([0.5, 0.0, 0.5], 0)
    0.5
    """
    reached = cumulated(pmf)
    happened = np.arange(len(reached)) >= happened_cell(lost_min, len(reached))
    return float(np.sum((reached - happened) ** 2))


def crps_lognormal(minutes: BenchMinutes, lost_min: float) -> float:
    """Return the same score of a lognormal, in closed form [min].

    Notes
    -----
    With w = (ln y − μ)/σ: y(2Φ(w) − 1) − 2·exp(μ + σ²/2)·(Φ(w − σ) + Φ(σ/√2) − 1).
    """
    if not 0 < lost_min < math.inf:
        raise JudgedForecastError("loss in minutes", lost_min)
    mu, sigma = lognormal_parameters(minutes)
    if sigma == 0:
        return abs(lost_min - minutes.median_min)
    w = (math.log(lost_min) - mu) / sigma
    tail = STANDARD.cdf(w - sigma) + STANDARD.cdf(sigma / math.sqrt(2)) - 1
    return lost_min * (2 * STANDARD.cdf(w) - 1) - 2 * math.exp(mu + sigma * sigma / 2) * tail


@dataclass(frozen=True, slots=True)
class BrierParts:
    """The Brier score of chances, and its parts: score = reliability − resolution + uncertainty.

    Reliability is how far the chances lie from the shares that came true (0 is perfect), resolution how far those shares lie from
    the overall share (the more the better), uncertainty what nobody can help.

    References
    ----------
    Brier 1950, *Monthly Weather Review* 78:1–3; Murphy 1973, *Journal of Applied Meteorology* 12:595–600.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float


def brier(chances: Sequence[float], happened: Sequence[bool]) -> BrierParts:
    """Return the score of these chances and its parts, which add up exactly over chances of equal value: round them first.

    Raises
    ------
    JudgedForecastError

    Examples
    --------
    >>> brier([0.5, 0.5], [True, False]).uncertainty
    0.25
    """
    if not chances or len(chances) != len(happened) or not all(0 <= chance <= 1 for chance in chances):
        raise JudgedForecastError("list of chances", list(chances)[:5])
    told, came = np.asarray(chances, dtype=np.float64), np.asarray(happened, dtype=np.float64)
    values, group = np.unique(told, return_inverse=True)
    sizes = np.bincount(group)
    shares, overall = np.bincount(group, weights=came) / sizes, float(came.mean())
    return BrierParts(
        score=float(np.mean((told - came) ** 2)),
        reliability=float(np.sum(sizes * (values - shares) ** 2) / len(told)),
        resolution=float(np.sum(sizes * (shares - overall) ** 2) / len(told)),
        uncertainty=overall * (1 - overall),
    )
