"""Which findings to put right, and how, so that nothing stands in the way: an exact search, the cheapest first."""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import timedelta
from functools import cached_property

from intake.triage.answers import Ruling, TriageInput
from intake.triage.cases import listed
from intake.triage.engine import Triage
from intake.triage.findings import Case, Finding
from intake.triage.reasons import reasons
from intake.triage.rulings import consequence
from intake.triage.verdict import Reason, Verdict
from intake.triage.ways_out import WayOut, candidates, in_the_way, ways_out

MOST_JUDGED = 400
MOST_STEPS = 20_000

Outcomes = frozenset[tuple[str, Ruling]]
Key = tuple[float, int, int, int]


class TooManyError(Exception):
    """The search has judged as much as it may; what it has found so far stands."""


@dataclass
class Problem:
    """One session's findings that can be chosen among, each with its ways out, and what is left in the way under a choice.

    Judging a choice is exact: the same rules as the verdict's, with the findings ruled as they would be once it is carried out.
    Choices that leave the same are judged once.
    """

    given: TriageInput
    found: Triage
    judged: dict[Outcomes, tuple[Reason, ...]] = field(default_factory=dict)

    @cached_property
    def cases(self) -> tuple[Case, ...]:
        """Return the checks as they stand."""
        return self.found.joint.cases

    @cached_property
    def candidates(self) -> tuple[Finding, ...]:
        """Return the findings to choose among, the costliest first, so that a search sees early where minutes cannot be spared.

        They are what the reasons name, and what comes to light as open once all of that is put right.
        """
        reasons, known = self.found.reasons, 0
        while len(found := candidates(self.found, reasons)) > known:
            known = len(found)
            reasons += self.reasons_after(_best(ways_out(each, self.given.slot)) for each in found)
        return tuple(sorted(found, key=lambda each: -each.expected_min))

    @cached_property
    def options(self) -> tuple[tuple[WayOut, ...], ...]:
        """Return each candidate's ways out."""
        return tuple(ways_out(each, self.given.slot) for each in self.candidates)

    @cached_property
    def best(self) -> tuple[WayOut | None, ...]:
        """Return for each candidate the way out that leaves least: put right before the session wherever that is possible."""
        return tuple(_best(options) for options in self.options)

    @cached_property
    def in_the_way(self) -> tuple[Reason, ...]:
        """Return what stands in the way with everything carried out that can be: where that is something, there is no plan."""
        return in_the_way(self.reasons_after(self.best))

    @cached_property
    def goal(self) -> Verdict:
        """Return the gravest verdict to be content with: bring parts, or ask the rider where only answers can spare that."""
        return max(Verdict.BRING_PARTS, self.reasons_after(self.best)[0].verdict, key=lambda verdict: verdict.weight)

    @cached_property
    def needed(self) -> frozenset[str]:
        """Return the candidates without which no choice is enough."""
        alone = ((each.key, [way for way in self.best if way and way.finding is not each]) for each in self.candidates)
        return frozenset(key for key, others in alone if not self.is_enough(others))

    def is_enough(self, chosen: Iterable[WayOut | None]) -> bool:
        """Say whether the session can be held once these ways out are carried out."""
        return self.reasons_after(chosen)[0].verdict.weight <= self.goal.weight

    def reasons_after(self, chosen: Iterable[WayOut | None]) -> tuple[Reason, ...]:
        """Return the reasons for the verdict once these ways out are carried out. Raises TooManyError."""
        outcomes = frozenset((each.finding.key, each.outcome) for each in chosen if each)
        if outcomes not in self.judged:
            if len(self.judged) >= MOST_JUDGED:
                raise TooManyError
            self.judged[outcomes] = self._judge(dict(outcomes))
        return self.judged[outcomes]

    def _judge(self, outcomes: Mapping[str, Ruling]) -> tuple[Reason, ...]:
        given = replace(self.given, rulings={**self.given.rulings, **outcomes})
        ruled = tuple(_ruled(case, outcomes) for case in self.cases)
        return reasons(self.found.joint.with_cases(ruled), listed(ruled, given), given.slot)


def _best(options: tuple[WayOut, ...]) -> WayOut | None:
    return min(options, key=lambda each: each.outcome is not Ruling.FIXED, default=None)


def _ruled(case: Case, outcomes: Mapping[str, Ruling]) -> Case:
    if not any(finding.key in outcomes for finding in case.findings):
        return case
    return replace(case, findings=tuple(_as_ruled(each, outcomes.get(each.key)) for each in case.findings))


def _as_ruled(finding: Finding, ruling: Ruling | None) -> Finding:
    if ruling is None:
        return finding
    return replace(finding, ruling=ruling, consequence=consequence(ruling, too_late=False))


def price(chosen: Iterable[WayOut], problem: Problem) -> float:
    """Return what these ways out cost together; a remedy that serves several findings is paid once."""
    terms = problem.given.slot.terms
    bands = {each.way.remedy.key: each.way.remedy.cost for each in chosen}
    return math.fsum(terms.weight(band) for band in bands.values())


def spare(chosen: Iterable[WayOut], problem: Problem) -> timedelta:
    """Return how long the most urgent of these can still wait; without any, for ever."""
    today = problem.given.slot.today
    return min((each.way.fix_by - today for each in chosen), default=timedelta.max)


def rank(chosen: tuple[WayOut, ...], problem: Problem) -> Key:
    """Return what orders choices: the cheapest, then the fewest people, then the most days to spare, then the fewest findings.

    No part of it falls when a way out is added, so that a search in this order meets the best complete choice first.
    """
    people = {each.person for each in chosen}
    waiting = spare(chosen, problem)
    return (price(chosen, problem), len(people), -waiting.days, len(chosen))


def enough(problem: Problem) -> Iterator[tuple[WayOut, ...]]:
    """Yield every choice that leaves nothing in the way and of which no part could be left out, the best first.

    Best-first branch and bound over the candidates. A beginning is given up where even the best of everything that is still to be
    chosen would not be enough. Raises TooManyError where that judges too often.
    """
    waiting: list[tuple[Key, tuple[int, ...]]] = [(rank((), problem), ())]
    for _step in range(MOST_STEPS):
        if not waiting:
            return
        _key, places = heapq.heappop(waiting)
        chosen = _chosen(problem, places)
        if len(places) < len(problem.candidates):
            for following in _further(problem, places, chosen):
                heapq.heappush(waiting, following)
        elif problem.is_enough(chosen) and _is_tight(problem, chosen):
            yield chosen
    raise TooManyError


NOT_CHOSEN = -1


def _chosen(problem: Problem, places: tuple[int, ...]) -> tuple[WayOut, ...]:
    pairs = zip(problem.options, places, strict=False)
    return tuple(options[place] for options, place in pairs if place != NOT_CHOSEN)


def _further(
    problem: Problem, places: tuple[int, ...], chosen: tuple[WayOut, ...]
) -> Iterator[tuple[Key, tuple[int, ...]]]:
    at = len(places)
    later = problem.best[at + 1 :]
    if problem.candidates[at].key not in problem.needed and problem.is_enough((*chosen, *later)):
        yield rank(chosen, problem), (*places, NOT_CHOSEN)
    for place, option in enumerate(problem.options[at]):
        longer = (*chosen, option)
        if problem.is_enough((*longer, *later)):
            yield rank(longer, problem), (*places, place)


def _is_tight(problem: Problem, chosen: tuple[WayOut, ...]) -> bool:
    return not any(problem.is_enough([each for each in chosen if each is not one]) for one in chosen)
