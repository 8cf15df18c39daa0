"""How long a fault takes at the bench: log-minutes as a normal of unknown mean and variance (normal-inverse-gamma)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from intake.catalogue.schema import BenchMinutes
from intake.experience.errors import LostMinutesError, PriorWeightError
from intake.experience.special import t_quantile
from intake.triage.lognormal import lognormal_parameters


@dataclass(frozen=True, slots=True)
class LogMinutes:
    """All that has to be kept of minutes that were lost: how many times, mean of their logarithms, and squares about that mean.

    Adding and taking away are Welford's and Chan's updates: no large sums are subtracted, and the time they take does not depend on
    how much was added before.

    References
    ----------
    Welford 1962, *Technometrics* 4:419–420; Chan, Golub & LeVeque 1983, *The American Statistician* 37:242–247.
    """

    times: int = 0
    mean: float = 0.0
    squares: float = 0.0

    def __add__(self, other: LogMinutes) -> LogMinutes:
        """Return both together."""
        times = self.times + other.times
        if not times:
            return LogMinutes()
        apart = other.mean - self.mean
        squares = self.squares + other.squares + apart * apart * self.times * other.times / times
        return LogMinutes(times, self.mean + apart * other.times / times, squares)

    def __sub__(self, other: LogMinutes) -> LogMinutes:
        """Return what is left without what was added before; LostMinutesError where it cannot have been."""
        left = self.times - other.times
        if left < 0:
            raise LostMinutesError(other.times)
        if not left:
            return LogMinutes()
        mean = self.mean + (self.mean - other.mean) * other.times / left
        apart = other.mean - mean
        squares = self.squares - other.squares - apart * apart * left * other.times / self.times
        return LogMinutes(left, mean, max(0.0, squares) if left > 1 else 0.0)


def lost(minutes: float) -> LogMinutes:
    """Return one loss of so many minutes; LostMinutesError unless there were any.

    >>> (lost(10) + lost(40)).times
    2
    """
    if not 0 < minutes < math.inf:
        raise LostMinutesError(minutes)
    return LogMinutes(1, math.log(minutes), 0.0)


@dataclass(frozen=True, slots=True)
class MinutesBelief:
    """A normal-inverse-gamma belief about log-minutes: σ² ~ InvGamma(shape, scale), μ ~ N(centre, σ²/weight)."""

    centre: float
    weight: float
    shape: float
    scale: float

    def after(self, seen: LogMinutes) -> MinutesBelief:
        """Return the belief after these losses.

        Notes
        -----
        With n losses of mean m and squares S about it: κ' = κ + n, μ' = (κμ + nm)/κ', α' = α + n/2,
        β' = β + S/2 + κn(m − μ)²/(2κ').

        References
        ----------
        Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., section 3.3; formula from memory, checked by integration in the tests.
        """
        weight = self.weight + seen.times
        apart = seen.mean - self.centre
        return MinutesBelief(
            centre=(self.weight * self.centre + seen.times * seen.mean) / weight,
            weight=weight,
            shape=self.shape + seen.times / 2,
            scale=self.scale + seen.squares / 2 + self.weight * seen.times * apart * apart / (2 * weight),
        )

    @property
    def degrees(self) -> float:
        """Degrees of freedom of both Student-t distributions."""
        return 2 * self.shape

    @property
    def spread(self) -> float:
        """Scale of the Student-t that predicts the logarithm of the next loss."""
        return math.sqrt(self.scale * (self.weight + 1) / (self.shape * self.weight))

    def quantile_min(self, share: float) -> float:
        """Return a quantile of the minutes that the next such fault takes [min]."""
        return math.exp(self.centre + self.spread * t_quantile(share, self.degrees))

    def predictive(self) -> BenchMinutes:
        """Return the lognormal that stands for the prediction in a forecast: of the same median and 90th percentile.

        The prediction itself is a Student-t of the logarithm, whose mean minutes do not exist. A forecast is made of lognormals,
        given by these two figures; between them both agree closely, far beyond the 90th percentile the lognormal's tail is the thinner.
        """
        median = math.exp(self.centre)
        return BenchMinutes(median_min=median, p90_min=max(median, self.quantile_min(0.9)))

    def median_interval_min(self, share: float = 0.9) -> tuple[float, float]:
        """Return the central interval that holds the median with this probability [min]."""
        half = math.sqrt(self.scale / (self.shape * self.weight)) * t_quantile((1 + share) / 2, self.degrees)
        return math.exp(self.centre - half), math.exp(self.centre + half)


def starting_minutes(minutes: BenchMinutes, weight_faults: float) -> MinutesBelief:
    """Return the prior: worth so many losses, and predicting exactly the catalogue's median and 90th percentile.

    Raises
    ------
    BenchMinutesError, PriorWeightError

    Examples
    --------
    >>> before = starting_minutes(BenchMinutes(median_min=20, p90_min=50), weight_faults=4)
    >>> round(before.quantile_min(0.5), 6), round(before.quantile_min(0.9), 6)
    (20.0, 50.0)
    """
    if not 0 < weight_faults < math.inf:
        raise PriorWeightError(weight_faults)
    lognormal_parameters(minutes)
    spread = math.log(minutes.p90_min / minutes.median_min) / t_quantile(0.9, weight_faults)
    return MinutesBelief(
        centre=math.log(minutes.median_min),
        weight=weight_faults,
        shape=weight_faults / 2,
        scale=spread * spread * (weight_faults / 2) * weight_faults / (weight_faults + 1),
    )
