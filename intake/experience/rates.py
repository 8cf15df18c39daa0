"""How often a fault is there: a Beta belief about its rate, moved by counts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from intake.experience.errors import CountsError, PriorRateError, PriorWeightError
from intake.experience.special import beta_quantile


@dataclass(frozen=True, slots=True)
class RateBelief:
    """A Beta distribution over a fault's rate.

    >>> starting_rate(0.1, weight_sessions=20).after(seen=10, faults=4).mean
    0.2
    """

    alpha: float
    beta: float

    @property
    def mean(self) -> float:
        """The chance that the next rider's bike has the fault: exactly what a Beta-binomial predicts for one session."""
        return self.alpha / (self.alpha + self.beta) if self.alpha else 0.0

    @property
    def weight_sessions(self) -> float:
        """How many sessions the belief is worth, those of the prior included."""
        return self.alpha + self.beta

    def after(self, seen: int, faults: int) -> RateBelief:
        """Return the belief after so many sessions of which so many had the fault; CountsError where that cannot be."""
        if not 0 <= faults <= seen:
            raise CountsError(seen, faults)
        return RateBelief(self.alpha + faults, self.beta + seen - faults)

    def interval(self, share: float = 0.9) -> tuple[float, float]:
        """Return the central interval that holds the rate with this probability."""
        if not self.alpha or not self.beta:
            return self.mean, self.mean
        tail = (1 - share) / 2
        return beta_quantile(tail, self.alpha, self.beta), beta_quantile(1 - tail, self.alpha, self.beta)


def starting_rate(rate: float, weight_sessions: float) -> RateBelief:
    """Return the prior: the catalogue's rate, worth as much as so many sessions in which it was seen.

    Raises
    ------
    PriorRateError, PriorWeightError
    """
    if not 0 <= rate <= 1:
        raise PriorRateError(rate)
    if not 0 < weight_sessions < math.inf:
        raise PriorWeightError(weight_sessions)
    return RateBelief(weight_sessions * rate, weight_sessions * (1 - rate))
