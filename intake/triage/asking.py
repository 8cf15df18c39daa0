"""Which checks to ask, and which of the unanswered ones is best asked next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from intake.catalogue.schema import Catalogue, Check, Group
from intake.triage.answers import Answer, BikeFacts, Slot
from intake.triage.conditions import applying_checks, known_answer
from intake.triage.findings import Case, Finding, bars
from intake.triage.forecast import horizon_cells, nothing_lost
from intake.triage.lognormal import Distribution, discretised

EVEN = 0.5
ROUNDED_DIGITS = 9


def asked_checks(catalogue: Catalogue, bike: BikeFacts, answers: Mapping[str, Answer]) -> tuple[Check, ...]:
    """Return the checks to ask of this bike, group by group and within a group in the catalogue's order.

    Those whose conditions hold, less those that a known fact of the bike answers already.

    Raises
    ------
    ConditionCycleError, ConditionSubjectError
    """
    applying = applying_checks(catalogue, bike, answers)
    return tuple(check for check in applying if known_answer(check, bike) is None)


@dataclass(frozen=True, slots=True)
class Outcome:
    """One way a check can turn out: a fault's key, or empty for no fault; its probability; the chance of a good session then."""

    fault: str
    probability: float
    good: float


@dataclass(frozen=True, slots=True)
class Question:
    """An unanswered check and what its answer is worth.

    Attributes
    ----------
    gain : float
        Rise of the probability that the decision (hold the session as it stands, or not) is the right one, 0 to ½.
    sharpening : float
        Variance of the chance of a good session over the outcomes: orders checks whose answer alone turns no decision.
    decides : bool
        Whether some outcome turns the decision.
    outcomes : tuple of Outcome
        No fault first, then the faults in the catalogue's order; probabilities add to 1.
    """

    check: Check
    gain: float
    sharpening: float
    decides: bool
    outcomes: tuple[Outcome, ...]


def rank_questions(cases: tuple[Case, ...], slot: Slot) -> tuple[Question, ...]:
    """Return the unanswered checks that the rider has not given up on, the most worth asking first.

    A session is *good* when no fault bars it and its bench minutes stay within the slack; with probability g of that, holding it is
    right with probability g and not holding it with 1 − g, so the better decision is right with max(g, 1 − g). The gain of a check
    is the expected rise of that maximum, over its outcomes. Equal gains are ordered by sharpening, then by the rider's minutes.

    Faults that bar the session for certain are decided on already: what is still to ask is judged as if they were put right.

    Notes
    -----
    Exact in one step: the minutes of all other checks are a product of what stands before and after a check, so every leave-one-out
    distribution comes from running products in both directions, and only up to the slack.
    """
    return tuple(sorted(_questions(cases, slot), key=_rank))


def _questions(cases: tuple[Case, ...], slot: Slot) -> list[Question]:
    heads = [good_head(case, slot) for case in cases]
    before = list(accumulate(heads, within_slack, initial=nothing(slot)))
    after = list(accumulate(reversed(heads), within_slack, initial=nothing(slot)))[::-1]
    open_ = [(place, case) for place, case in enumerate(cases) if not (case.belief.answered or case.belief.could_not)]
    return [_question(case, within_slack(before[place], after[place + 1]), slot) for place, case in open_]


def _rank(question: Question) -> tuple[float, float, float]:
    return (
        -round(question.gain, ROUNDED_DIGITS),
        -round(question.sharpening, ROUNDED_DIGITS),
        question.check.home_min,
    )


def _question(case: Case, others: Distribution, slot: Slot) -> Question:
    reached = np.cumsum(others)[::-1]
    fine = 1 - min(1.0, sum(finding.probability for finding in case.findings))
    outcomes = (
        Outcome("", fine, float(reached[0])),
        *(
            Outcome(each.fault.key, each.probability, float(reached @ _cost(each, slot)))
            for each in case.findings
            if each.probability > 0
        ),
    )
    now = sum(each.probability * each.good for each in outcomes)
    right = sum(each.probability * max(each.good, 1 - each.good) for each in outcomes)
    return Question(
        check=case.check,
        gain=max(0.0, right - max(now, 1 - now)),
        sharpening=sum(each.probability * (each.good - now) ** 2 for each in outcomes),
        decides=any((each.good >= EVEN) != (now >= EVEN) for each in outcomes),
        outcomes=outcomes,
    )


def nothing(slot: Slot) -> Distribution:
    """Return the distribution of no minutes, up to the slack."""
    return nothing_lost(slot.slack_min + 1)


def good_outcomes(case: Case, slot: Slot) -> list[tuple[float, Distribution]]:
    """Return each way a check can turn out: its probability, and the chances of its minutes in a good session."""
    fine = 1 - min(1.0, sum(finding.probability for finding in case.findings))
    return [(fine, nothing(slot)), *((each.probability, _cost(each, slot)) for each in case.findings)]


def good_head(case: Case, slot: Slot) -> Distribution:
    """Return the chances of a check's minutes up to the slack, without those outcomes that bar the session."""
    sure = [finding for finding in case.findings if finding.sure]
    doubtful = [finding for finding in case.findings if not finding.sure]
    summed = (1 - min(1.0, sum(finding.probability for finding in doubtful))) * nothing_lost(slot.slack_min + 1)
    for finding in doubtful:
        summed = summed + finding.probability * _cost(finding, slot)
    for finding in sure:
        summed = summed if bars(finding, slot.essential) else within_slack(summed, _cost(finding, slot))
    return summed


def _cost(finding: Finding, slot: Slot) -> Distribution:
    """Return the head of a fault's minutes if it is there; nothing at all where it bars the session."""
    if bars(finding, slot.essential):
        return np.zeros(slot.slack_min + 1)
    if finding.minutes is None or not finding.counted or not finding.consequence.costs:
        return nothing_lost(slot.slack_min + 1)
    return discretised(finding.minutes, horizon_cells(slot.planned_min, slot.slack_min))[: slot.slack_min + 1]


def within_slack(one: Distribution, other: Distribution) -> Distribution:
    """Return the distribution of a sum, up to the slack."""
    return np.convolve(one, other)[: len(one)]


def best_order(asked: tuple[Check, ...], questions: tuple[Question, ...]) -> tuple[Check, ...]:
    """Return the asked checks group by group, answered ones first, then the open ones by what their answers are worth."""
    worth = {question.check.key: place for place, question in enumerate(questions, start=1)}
    groups = list(Group)
    return tuple(sorted(asked, key=lambda check: (groups.index(check.group), worth.get(check.key, 0))))
