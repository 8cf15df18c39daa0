"""Shared exposures: what nobody knows for sure of a bike, and what makes several of its faults likelier together."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from intake.catalogue.schema import Catalogue, Check, Exposure, Fault
from intake.catalogue.shares import share_exposed, times_as_frequent
from intake.triage.lognormal import Distribution


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Every combination of exposures that matter for some checks.

    Attributes
    ----------
    exposures : tuple of Exposure
        Those on which some fault of these checks depends.
    shares : mapping of exposure key to float
        The share of exposed bikes among all.
    states : tuple of mapping of exposure key to bool
        Every combination of being exposed or not; a single empty one where there are no exposures.
    asked_by : mapping of check key to Exposure
        The checks, among these, whose answer speaks of an exposure.
    """

    exposures: tuple[Exposure, ...]
    shares: Mapping[str, float]
    states: tuple[Mapping[str, bool], ...]
    asked_by: Mapping[str, Exposure]

    @property
    def prior(self) -> Distribution:
        """Probability of each combination, before any check that speaks of an exposure is heard."""
        unasked = [each for each in self.exposures if each.check not in self.asked_by]
        return np.array(
            [self._chance(state, {each.key: self.shares[each.key] for each in unasked}) for state in self.states]
        )

    def told(self, exposure: Exposure, answers: Collection[str]) -> Distribution:
        """Return the probability of each combination's word on one exposure, given any of these answers, which all say the same."""
        share = exposure.given[next(iter(answers))] if answers else self.shares[exposure.key]
        return np.array([self._chance(state, {exposure.key: share}) for state in self.states])

    def times(self, fault: Fault) -> Distribution:
        """Return how many times its usual rate a fault has in each combination."""
        return np.array([times_as_frequent(fault, self.shares, state) for state in self.states])

    @staticmethod
    def _chance(state: Mapping[str, bool], shares: Mapping[str, float]) -> float:
        chance = 1.0
        for key, share in shares.items():
            chance *= share if state[key] else 1.0 - share
        return chance


def surroundings(catalogue: Catalogue, checks: Iterable[Check]) -> Surroundings:
    """Return the exposures that bear on these checks."""
    checks = tuple(checks)
    named = {key for check in checks for fault in check.faults for key in fault.exposed}
    live = tuple(exposure for exposure in catalogue.exposures if exposure.key in named)
    every = {check.key: check for check in catalogue.checks} if live else {}
    keys = [exposure.key for exposure in live]
    here = {check.key for check in checks}
    return Surroundings(
        exposures=live,
        shares={exposure.key: share_exposed(exposure, every.get(exposure.check)) for exposure in live},
        states=tuple(dict(zip(keys, there, strict=True)) for there in product((False, True), repeat=len(keys))),
        asked_by={exposure.check: exposure for exposure in live if exposure.check in here},
    )
