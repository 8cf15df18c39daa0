"""Bench minutes of one fault: a lognormal, by its median and 90th percentile, on a grid of whole minutes.

A distribution is an array whose cell *n* holds the probability of *n* minutes, and whose last cell holds that of its own minute
**and every minute beyond**, so that no mass is ever dropped.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from intake.catalogue.schema import BenchMinutes
from intake.triage.errors import BenchMinutesError

Distribution: TypeAlias = NDArray[np.float64]

Z90 = NormalDist().inv_cdf(0.9)


def lognormal_parameters(minutes: BenchMinutes) -> tuple[float, float]:
    """Return mean and standard deviation of the logarithm of the minutes.

    Notes
    -----
    The median of a lognormal is exp(μ) and its 90th percentile exp(μ + z₉₀·σ), with z₉₀ the standard normal's.

    Raises
    ------
    BenchMinutesError
        Unless 0 < median ≤ 90th percentile, both finite.
    """
    if not 0 < minutes.median_min <= minutes.p90_min < math.inf:
        raise BenchMinutesError(minutes)
    return math.log(minutes.median_min), math.log(minutes.p90_min / minutes.median_min) / Z90


def mean_min(minutes: BenchMinutes) -> float:
    """Return the mean of a lognormal, exp(μ + σ²/2) [min]."""
    mu, sigma = lognormal_parameters(minutes)
    return math.exp(mu + sigma * sigma / 2)


@lru_cache(maxsize=4096)
def discretised(minutes: BenchMinutes, cells: int) -> Distribution:
    """Return a lognormal on the one-minute grid, read-only.

    Cell *n* holds P(n − ½ < M ≤ n + ½), cell 0 what is at most half a minute, the last cell all beyond the one before.

    >>> discretised(BenchMinutes(median_min=5, p90_min=5), cells=7).tolist()
    [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0]
    """
    mu, sigma = lognormal_parameters(minutes)
    reached = np.zeros(cells + 1)
    reached[1:-1] = _lognormal_cdf(np.log(np.arange(0.5, cells - 1)), mu, sigma)
    reached[-1] = 1.0
    pmf: Distribution = reached[1:] - reached[:-1]
    pmf.setflags(write=False)
    return pmf


def _lognormal_cdf(log_min: Distribution, mu: float, sigma: float) -> Distribution:
    if sigma == 0:
        return (log_min >= mu).astype(np.float64)
    arguments = (mu - log_min) / (sigma * math.sqrt(2))
    return 0.5 * np.fromiter(map(math.erfc, arguments.tolist()), np.float64, len(arguments))
