"""Everything that can be wrong with a bike at once, exactly: checks that hang on one another, and exposures that they share."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Set
from dataclasses import dataclass, replace
from functools import reduce
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from intake.triage.findings import Case, Finding
from intake.triage.lognormal import Distribution
from intake.triage.ways import Way

NEGLIGIBLE = 1e-12

Flags: TypeAlias = NDArray[np.bool_]
Places: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A check, or checks that hang on one another, with every outcome that they can have together.

    Attributes
    ----------
    places : tuple of int
        Where its checks stand among the cases.
    law : array of shape (combinations of exposures or 1, outcomes)
        Probability of each outcome under each combination, given all answers; each row adds to 1.
    keys : tuple of str
        The findings that can be there.
    there : array of bool, shape (findings, outcomes)
        In which outcomes each is there.
    spared : tuple of (place in keys, place in keys)
        Pairs of which the first, while its minutes are spent, makes the minutes of the second moot.
    ways : mapping of check key to tuple of Way
    turned : mapping of check key to array of int, shape (outcomes,)
        Which of its ways each check takes in each outcome; no fault where it is not there to be checked.
    """

    places: tuple[int, ...]
    law: Distribution
    keys: tuple[str, ...]
    there: Flags
    spared: tuple[tuple[int, int], ...]
    ways: Mapping[str, tuple[Way, ...]]
    turned: Mapping[str, Places]

    @property
    def exposed(self) -> bool:
        """Whether some exposure makes a difference to it."""
        return len(self.law) > 1

    def moot(self, spending: Collection[str]) -> Flags:
        """Return where each finding is there and its minutes are moot, with these findings' minutes spent."""
        found = np.zeros_like(self.there)
        for source, target in self.spared:
            if self.keys[source] in spending:
                found[target] |= self.there[source] & self.there[target]
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """The checks that apply, and the probability of everything that they can show together.

    Attributes
    ----------
    cases : tuple of Case
        Findings carry the probabilities of this law.
    blocks : tuple of Block
        Independent of one another in each combination of exposures.
    exposed : array of shape (combinations of exposures,)
        Probability of each combination, given all answers; [1] where there are none.
    exposures : mapping of exposure key to float
        Probability that the bike is exposed, given all answers.
    """

    cases: tuple[Case, ...]
    blocks: tuple[Block, ...]
    exposed: Distribution
    exposures: Mapping[str, float]

    def with_cases(self, cases: tuple[Case, ...]) -> Joint:
        """Return the same law with these findings, their probabilities reckoned under it, and their moot minutes by their rulings."""
        return replace(self, cases=_reckoned(replace(self, cases=cases)))

    def findings(self, block: Block) -> list[Finding]:
        """Return the findings of one block, those that cannot be there among them."""
        return [finding for place in block.places for finding in self.cases[place].findings]

    def outcomes(self, block: Block) -> Distribution:
        """Return the probability of each outcome of a block, over all combinations of exposures."""
        weights = self.exposed if block.exposed else np.ones(1)
        return weights @ block.law

    def chance_of_any(self, keys: Set[str]) -> float:
        """Return the probability that at least one of these findings is there.

        Notes
        -----
        1 − Σₑ P(e) ∏ P(none of them in the block | e), over the combinations of exposures e and the blocks: exact.
        """
        none = [_none_there(block, keys) for block in self.blocks if not keys.isdisjoint(block.keys)] if keys else []
        return max(0.0, 1.0 - float(self.exposed @ reduce(np.multiply, none, np.ones(len(self.exposed)))))


def _none_there(block: Block, keys: Set[str]) -> Distribution:
    touched = [place for place, key in enumerate(block.keys) if key in keys]
    free = ~block.there[touched].any(axis=0)
    chances: Distribution = block.law[:, free].sum(axis=1)
    return chances


def _reckoned(joint: Joint) -> tuple[Case, ...]:
    """Return the cases with each finding's own probability under the joint law, and that of its minutes being moot."""
    cases = list(joint.cases)
    spending = {each.key for case in cases for each in case.findings if each.consequence.costs}
    for block in joint.blocks:
        if len(block.places) == 1 and not block.exposed:
            continue
        chance = joint.outcomes(block)
        there = dict(zip(block.keys, block.there @ chance, strict=True))
        moot = dict(zip(block.keys, block.moot(spending) @ chance, strict=True))
        for place in block.places:
            findings = tuple(
                _moved(each, there.get(each.key, 0.0), moot.get(each.key, 0.0)) for each in cases[place].findings
            )
            cases[place] = replace(cases[place], findings=findings)
    return tuple(cases)


def _moved(finding: Finding, probability: float, moot: float) -> Finding:
    if abs(probability - finding.probability) < NEGLIGIBLE:
        probability = finding.probability
    if probability == finding.probability and moot == finding.moot:
        return finding
    return replace(finding, probability=min(1.0, probability), moot=min(moot, probability))
