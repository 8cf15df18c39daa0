"""From what a studio counted to what its forecasts reckon with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from intake.catalogue.schema import BenchMinutes, Catalogue, Fault
from intake.experience.minutes import LogMinutes, MinutesBelief, starting_minutes
from intake.experience.rates import RateBelief, starting_rate
from intake.triage.answers import Experience
from intake.triage.lognormal import mean_min

NONE_NOTED = LogMinutes()


@dataclass(frozen=True, slots=True)
class PriorWeights:
    """How much the catalogue's starting estimates weigh beside a studio's own sessions.

    ``sessions`` is the weight of every starting rate, in sessions that showed whether the fault was there; ``faults`` that of the
    starting minutes, in faults whose minutes were noted.
    """

    sessions: float = 20.0
    faults: float = 4.0


@dataclass(frozen=True, slots=True)
class Counted:
    """What was counted of one fault: sessions that showed whether it was there, in how many it was, and the minutes it took."""

    seen: int = 0
    faults: int = 0
    minutes: LogMinutes = NONE_NOTED


@dataclass(frozen=True, slots=True)
class Learned:
    """One fault as the catalogue starts it, as the studio counted it, and as both together tell it."""

    key: str
    fault: Fault
    counted: Counted
    rate_before: RateBelief
    rate: RateBelief
    minutes_before: MinutesBelief | None
    minutes: MinutesBelief | None

    @property
    def cost_before_min(self) -> float:
        """Minutes that the catalogue expects of the fault in a session of which nothing is known [min]."""
        return self.rate_before.mean * (mean_min(self.fault.minutes) if self.fault.minutes else 0.0)

    @property
    def bench_minutes(self) -> BenchMinutes | None:
        """The minutes that a forecast reckons with: the catalogue's own to the last digit where none were noted."""
        if self.minutes is None or not self.counted.minutes.times:
            return self.fault.minutes
        return self.minutes.predictive()

    @property
    def cost_min(self) -> float:
        """The same after what was learned [min]."""
        minutes = self.bench_minutes
        return self.rate.mean * mean_min(minutes) if minutes else 0.0

    @property
    def moved_min(self) -> float:
        """By how many expected minutes of a session learning has moved the forecast [min]."""
        return self.cost_min - self.cost_before_min


def learn(key: str, fault: Fault, counted: Counted, weights: PriorWeights) -> Learned:
    """Return what is known of one fault.

    Raises
    ------
    CountsError, PriorRateError, PriorWeightError, BenchMinutesError
    """
    rate = starting_rate(fault.rate, weights.sessions)
    minutes = starting_minutes(fault.minutes, weights.faults) if fault.minutes else None
    return Learned(
        key=key,
        fault=fault,
        counted=counted,
        rate_before=rate,
        rate=rate.after(counted.seen, counted.faults),
        minutes_before=minutes,
        minutes=minutes.after(counted.minutes) if minutes else None,
    )


def learn_all(
    catalogue: Catalogue, counted: Mapping[str, Counted], weights: PriorWeights = PriorWeights()
) -> tuple[Learned, ...]:
    """Return what is known of every fault of the catalogue, in its order; what was counted of retired faults is left out."""
    return tuple(
        learn(key, fault, counted.get(key, Counted()), weights)
        for check in catalogue.checks
        for fault in check.faults
        for key in [f"{check.key}.{fault.key}"]
    )


def experience(
    catalogue: Catalogue, counted: Mapping[str, Counted], weights: PriorWeights = PriorWeights()
) -> Experience:
    """Return what forecasts reckon with: only what was learned, so that a studio without sessions has the catalogue's forecast."""
    keys = {key for key, one in counted.items() if one.seen}
    learned = [
        learn(key, fault, counted[key], weights)
        for check in catalogue.checks
        for fault in check.faults
        for key in [f"{check.key}.{fault.key}"]
        if key in keys
    ]
    return Experience(
        rates={each.key: each.rate.mean for each in learned},
        minutes={each.key: each.bench_minutes for each in learned if each.counted.minutes.times and each.bench_minutes},
    )
