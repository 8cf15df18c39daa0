"""Plans: who puts what right by when so that a session is held, the cheapest first; or why none fits, and from which day one would.

A plan names one remedy, in time, for each finding that it puts right. Carried out, it leaves no reason to fix anything first: the
session is then clear, or clear with the named parts brought along, or waits only for what nobody has answered yet. No part of a plan
could be left out. What a plan costs is the sum of its remedies' bands, one that serves several findings counted once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from intake.catalogue.schema import Adjustment, CostBand, Freedom, Hazard, Who
from intake.triage.answers import Ruling, TriageInput
from intake.triage.deadlines import DatedRemedy
from intake.triage.engine import Triage, triage
from intake.triage.findings import Finding
from intake.triage.plan_search import Problem, TooManyError, enough, price
from intake.triage.verdict import Reason, Verdict
from intake.triage.ways_out import WayOut, every_way, in_the_way

MOST_PLANS = 3


@dataclass(frozen=True)
class Errand:
    """One remedy of a plan with all the findings that it puts right, and the ruling that decides on it."""

    way: DatedRemedy
    ruling: Ruling
    findings: tuple[Finding, ...]

    @property
    def who(self) -> Who:
        """Who does it."""
        return self.way.remedy.who

    @property
    def cost(self) -> CostBand:
        """What it usually costs."""
        return self.way.remedy.cost

    @property
    def unlocks(self) -> tuple[Adjustment, ...]:
        """The adjustments that these findings lock or limit as things stand."""
        held = {
            each
            for finding in self.findings
            if finding.holding > 0
            for each, how in finding.effects.items()
            if how is not Freedom.FREE
        }
        return tuple(each for each in Adjustment if each in held)

    @property
    def minutes_gained(self) -> float:
        """Bench minutes that the session saves on average; none where the work is done in it [min]."""
        return sum(each.expected_min for each in self.findings) if self.ruling is Ruling.FIX_FIRST else 0.0

    @property
    def lifts_hazard(self) -> bool:
        """Whether nobody may ride the bike until it is done."""
        return any(each.hazard is Hazard.DO_NOT_RIDE for each in self.findings)

    @property
    def makes_reliable(self) -> bool:
        """Whether what is measured would not be true without it."""
        return any(each.fault.unreliable for each in self.findings)


@dataclass(frozen=True)
class Plan:
    """What is to be done, and what comes of it.

    Attributes
    ----------
    errands : tuple of Errand
        The most urgent first.
    cost : float
        In the studio's currency, or in usual weights where it has set no amounts.
    after : Triage
        The same session judged with the plan carried out.
    """

    errands: tuple[Errand, ...]
    cost: float
    after: Triage

    @property
    def key(self) -> str:
        """What names the plan: each finding with its remedy, whatever day it is."""
        return " ".join(
            sorted(f"{each.key}:{errand.way.remedy.key}" for errand in self.errands for each in errand.findings)
        )

    @property
    def rulings(self) -> Mapping[str, Ruling]:
        """What a fitter decides who agrees on it, by finding key."""
        return {each.key: errand.ruling for errand in self.errands for each in errand.findings}

    @property
    def people(self) -> int:
        """How many have work with it; whoever brings a part is the rider."""
        return len({Who.RIDER if errand.who is Who.BRING else errand.who for errand in self.errands})

    @property
    def start_by(self) -> date:
        """The last day on which all of it can begin."""
        return min(errand.way.fix_by for errand in self.errands)

    @property
    def ready_on(self) -> date:
        """The first day on which all of it is done if it begins today."""
        return max(errand.way.first_ready_on for errand in self.errands)

    @property
    def verdict(self) -> Verdict:
        """The verdict once it is carried out: bring parts or clear, or ask the rider where answers are missing."""
        return self.after.verdict

    @property
    def chance(self) -> float:
        """The chance to run to plan once it is carried out."""
        return self.after.forecast.chance

    @property
    def readiness_pct(self) -> float:
        """The readiness once it is carried out [%]."""
        return self.after.forecast.readiness_pct


@dataclass(frozen=True)
class Plans:
    """The ways to be ready.

    Attributes
    ----------
    starts_on : date
        The day of the session as it stands.
    needed : bool
        Whether anything stands in the way that a remedy is for; red flags are for a clinician, open questions for the rider.
    plans : tuple of Plan
        At most three, the cheapest first; none dearer is kept that asks as many people, waits no longer and helps no more.
    complete : bool
        Whether the search came to its end; else the plans hold, and there may be others.
    ready_on : date or None
        Where no plan fits, the first day for the session on which one does; None where none would on any day.
    later : Plan or None
        The cheapest plan for that day; None where nothing would be left to do.
    left : tuple of Reason
        Where no plan fits on any day, what all remedies together leave in the way.
    """

    starts_on: date
    needed: bool
    plans: tuple[Plan, ...] = ()
    complete: bool = True
    ready_on: date | None = None
    later: Plan | None = None
    left: tuple[Reason, ...] = ()

    @property
    def too_late(self) -> tuple[Errand, ...]:
        """The errands of the later plan that cannot be done before the day of the session as it stands."""
        return (
            tuple(each for each in self.later.errands if self.starts_on < each.way.first_ready_on) if self.later else ()
        )


def errands_named(found: Triage, key: str) -> tuple[Errand, ...]:
    """Return the errands that a plan's key names, as far as they are among the findings still; the most urgent first.

    The letter about a plan is written after its rulings are kept, when the plan itself is no longer looked for.
    """
    by_way: dict[str, list[WayOut]] = {}
    for pair in dict.fromkeys(key.split()):
        finding_key, _colon, remedy_key = pair.partition(":")
        for finding in (each for each in found.findings if each.key == finding_key):
            ways = {each.way.remedy.key: each for each in every_way(finding, found.slot)}
            if remedy_key in ways:
                by_way.setdefault(remedy_key, []).append(ways[remedy_key])
    return _errands(by_way.values())


def is_agreed(found: Triage, key: str) -> bool:
    """Say whether every ruling that a plan's key stands for is in force."""
    errands = errands_named(found, key)
    named = [(errand.ruling, each.ruling) for errand in errands for each in errand.findings]
    return len(named) == len(set(key.split())) > 0 and all(wanted is ruling for wanted, ruling in named)


def find_plans(given: TriageInput, found: Triage) -> Plans:
    """Return the plans for a session that has been judged, or say from which day there is one.

    Raises
    ------
    TriageError
        Where the session could not have been judged either.
    """
    if found.stopped or not in_the_way(found.reasons):
        return Plans(found.slot.starts_on, needed=False)
    problem = Problem(replace(given, slot=found.slot), found)
    if problem.in_the_way:
        return _no_plan(problem)
    plans, complete = _plans(problem, MOST_PLANS)
    return Plans(found.slot.starts_on, needed=True, plans=plans, complete=complete)


def _plans(problem: Problem, most: int) -> tuple[tuple[Plan, ...], bool]:
    kept: list[Plan] = []
    try:
        for chosen in enough(problem):
            plan = _plan(problem, chosen)
            if not any(_is_as_good(other, plan) for other in kept):
                kept.append(plan)
            if len(kept) == most:
                return tuple(kept), True
    except TooManyError:
        return tuple(kept) or (_plan(problem, _in_time(problem)),), False
    return tuple(kept), True


def _in_time(problem: Problem) -> tuple[WayOut, ...]:
    return tuple(way for way in problem.best if way is not None)


def _is_as_good(one: Plan, other: Plan) -> bool:
    """Say whether one plan, no dearer than another, is as good in everything else as well."""
    return one.people <= other.people and one.start_by >= other.start_by and one.chance >= other.chance - 1e-9


def _plan(problem: Problem, chosen: tuple[WayOut, ...]) -> Plan:
    by_way: dict[str, list[WayOut]] = {}
    for each in chosen:
        by_way.setdefault(each.way.remedy.key, []).append(each)
    return Plan(
        errands=_errands(by_way.values()),
        cost=price(chosen, problem),
        after=triage(carried_out(problem.given, chosen)),
    )


def _errands(by_way: Iterable[list[WayOut]]) -> tuple[Errand, ...]:
    errands = [Errand(ways[0].way, ways[0].ruling, tuple(each.finding for each in ways)) for ways in by_way]
    return tuple(sorted(errands, key=lambda each: (each.way.fix_by, each.way.remedy.key)))


def carried_out(given: TriageInput, chosen: tuple[WayOut, ...]) -> TriageInput:
    """Return what the triage is given once these ways out are carried out."""
    return replace(given, rulings={**given.rulings, **{each.finding.key: each.outcome for each in chosen}})


def _no_plan(problem: Problem) -> Plans:
    starts_on, left = problem.found.slot.starts_on, problem.in_the_way
    for day in _later_days(problem):
        moved = _on(problem, day)
        left = moved.in_the_way
        if not left:
            plans = _plans(moved, 1)[0] if in_the_way(moved.found.reasons) else ()
            return Plans(starts_on, needed=True, ready_on=day, later=next(iter(plans), None))
    return Plans(starts_on, needed=True, left=left)


def _later_days(problem: Problem) -> list[date]:
    """Return the days after the session's on which some remedy is done that begins today."""
    slot = problem.found.slot
    days = {way.first_ready_on for finding in problem.candidates for way in finding.remedies}
    return sorted(day for day in days if day > slot.starts_on)


def _on(problem: Problem, day: date) -> Problem:
    given = replace(problem.given, slot=replace(problem.given.slot, starts_on=day))
    return Problem(given, triage(given))
