"""Findings: what the answers mean for the session, fault by fault, with the fitter's ruling and the dates of each remedy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from intake.catalogue.schema import Adjustment, BenchMinutes, Check, Condition, Fault, Freedom, Hazard, Who
from intake.triage.answers import Ruling
from intake.triage.beliefs import Belief
from intake.triage.deadlines import DatedRemedy
from intake.triage.lognormal import mean_min
from intake.triage.rulings import Consequence

SURE = 1 - 1e-9
LISTED_FROM = 0.05


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault of one check: how likely it is, and what becomes of it under the fitter's ruling.

    Attributes
    ----------
    key : str
        ``check.fault``; rulings and experience use it.
    probability : float
        What the answers say, or the usual rate where they say nothing; what else is known of the bike is reckoned in.
    said : bool
        Whether the answer speaks of this fault at all.
    ruling : Ruling or None
        The fitter's decision; one that is keyed by the check alone settles the faults of a check without an answer.
    minutes : BenchMinutes or None
        Its bench minutes, the studio's own where it has learned them.
    remedies : tuple of DatedRemedy
        In the catalogue's order, the preferred one first.
    consequence : Consequence
        What the ruling leaves of it.
    moot : float
        Probability that it is there and its minutes go on another fault anyway.
    """

    key: str
    check: Check
    fault: Fault
    probability: float
    said: bool
    ruling: Ruling | None
    minutes: BenchMinutes | None
    remedies: tuple[DatedRemedy, ...]
    consequence: Consequence
    moot: float = 0.0

    @property
    def title(self) -> str:
        """The fault's title, ready to stand inside a sentence."""
        return self.fault.title.rstrip(". ")

    @property
    def sure(self) -> bool:
        """Whether the answer leaves no doubt."""
        return self.probability >= SURE

    @property
    def hazard(self) -> Hazard:
        """What it can do to the rider."""
        return self.fault.hazard

    @property
    def effects(self) -> Mapping[Adjustment, Freedom]:
        """What it does to each adjustment."""
        return self.fault.effects

    @property
    def standing(self) -> float:
        """Probability that it is there still: 0 once it is ruled fixed or not a fault."""
        return self.probability if self.consequence.stands else 0.0

    @property
    def at_slot(self) -> float:
        """Probability that it costs minutes of its own in the slot."""
        return self.probability - self.moot if self.consequence.costs else 0.0

    @property
    def holding(self) -> float:
        """Probability that it holds its adjustments in the slot."""
        return self.probability if self.consequence.holds else 0.0

    @property
    def counted(self) -> bool:
        """Whether it counts towards the verdict."""
        return self.consequence.counts

    @property
    def expected_min(self) -> float:
        """Bench minutes that it costs on average, if the session were held now [min]."""
        return self.at_slot * mean_min(self.minutes) if self.minutes else 0.0

    @property
    def part(self) -> tuple[float, BenchMinutes | None]:
        """Its share of the forecast."""
        return self.at_slot, self.minutes

    def ways(self, *who: Who) -> tuple[DatedRemedy, ...]:
        """Return the remedies of these people."""
        return tuple(way for way in self.remedies if way.remedy.who in who)

    @property
    def best(self) -> DatedRemedy | None:
        """The preferred remedy that is still in time, else the quickest, None where there is none."""
        in_time = [way for way in self.remedies if not way.late]
        quickest = sorted(self.remedies, key=lambda way: way.remedy.lead_days)
        return next(iter(in_time + quickest), None)

    @property
    def late(self) -> bool:
        """Whether there are remedies, and all of them come too late."""
        return bool(self.remedies) and all(way.late for way in self.remedies)

    @property
    def only_to_bring(self) -> bool:
        """Whether a part to bring, still in time, is the one way before the slot."""
        before = self.ways(Who.RIDER, Who.WORKSHOP)
        return not before and any(not way.late for way in self.ways(Who.BRING))


@dataclass(frozen=True, slots=True)
class Case:
    """One check that applies, or may: what its answer says, and all its faults, listed as findings or not.

    ``asked`` is False while it waits for the answer to another check. ``waits`` are the conditions on which it hangs whether it
    is there to be made at all; an answer to it shows that it is.
    """

    belief: Belief
    findings: tuple[Finding, ...]
    asked: bool = True
    waits: tuple[Condition, ...] = ()

    @property
    def check(self) -> Check:
        """The check itself."""
        return self.belief.check


@dataclass(frozen=True, slots=True)
class Unknown:
    """A check without an answer.

    ``chance`` is the probability of any of its faults by their usual rates; ``essential`` says whether one of them could lock an
    essential adjustment or be a hazard; ``ruling`` is what the fitter decided about not knowing.
    """

    check: Check
    could_not: bool
    chance: float
    essential: bool
    ruling: Ruling | None


def gravity(finding: Finding, essential: frozenset[Adjustment]) -> tuple[bool, bool, bool, float, float]:
    """Return what orders findings: hazard, barring the session, being sure, minutes lost, probability."""
    return (
        finding.hazard is not Hazard.NONE and finding.standing > 0,
        bars(finding, essential),
        finding.sure,
        finding.expected_min,
        finding.probability,
    )


def locks(finding: Finding, essential: frozenset[Adjustment]) -> frozenset[Adjustment]:
    """Return the essential adjustments that this fault locks."""
    return frozenset(each for each, freedom in finding.effects.items() if freedom is Freedom.LOCKED) & essential


def bars(finding: Finding, essential: frozenset[Adjustment]) -> bool:
    """Say whether this fault, if it is there, is by itself a reason not to hold the session as it stands.

    A hazard is, until it is ruled fixed or not a fault. So is a lock of an essential adjustment, or a fault that falsifies
    readings, unless a part that the rider can bring in time is the way to put it right, or the fitter's ruling has settled it.
    """
    if finding.hazard is not Hazard.NONE:
        return finding.consequence.stands
    blocks = finding.fault.unreliable or bool(locks(finding, essential))
    return blocks and finding.counted and finding.consequence.holds and not finding.only_to_bring
