"""Which checks to ask, and which of the unanswered ones is best asked next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import accumulate

import numpy as np

from intake.catalogue.schema import Catalogue, Check
from intake.triage.answers import Answer, BikeFacts, Slot
from intake.triage.conditions import applying_checks, known_answer
from intake.triage.findings import Case, bars
from intake.triage.forecast import horizon_cells, nothing_lost
from intake.triage.joint import Block, Joint
from intake.triage.lognormal import Distribution
from intake.triage.sums import costs, heads, within

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
    """One way a check can turn out: a fault's key, or empty for no fault; its probability; the chance of a good session then.

    ``answers`` are the answers that tell it, where answers without a fault differ in what they mean for other checks.
    """

    fault: str
    probability: float
    good: float
    answers: tuple[str, ...] = ()


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
        No fault first, then the faults in the catalogue's order, those that can be; probabilities add to 1.
    """

    check: Check
    gain: float
    sharpening: float
    decides: bool
    outcomes: tuple[Outcome, ...]


def rank_questions(joint: Joint, slot: Slot) -> tuple[Question, ...]:
    """Return the unanswered checks that the rider has not given up on, the most worth asking first.

    A session is *good* when no fault bars it and its bench minutes stay within the slack; with probability g of that, holding it is
    right with probability g and not holding it with 1 − g, so the better decision is right with max(g, 1 − g). The gain of a check
    is the expected rise of that maximum, over its outcomes. Equal gains are ordered by sharpening, then by the rider's minutes.
    What an answer opens, makes moot or tells of an exposure is counted.

    Faults that bar the session for certain are decided on already: what is still to ask is judged as if they were put right.

    Notes
    -----
    Exact in one step: the minutes of all other blocks are a product of what stands before and after a block, so every leave-one-out
    distribution comes from running products in both directions, for each combination of exposures, and only up to the slack.
    """
    return tuple(sorted(_questions(joint, slot), key=_rank))


def _rank(question: Question) -> tuple[float, float, float]:
    return (
        -round(question.gain, ROUNDED_DIGITS),
        -round(question.sharpening, ROUNDED_DIGITS),
        question.check.home_min,
    )


def is_open(case: Case) -> bool:
    """Say whether a check can be put to the rider now, and has neither been answered nor given up."""
    return case.asked and not (case.belief.answered or case.belief.could_not)


def _questions(joint: Joint, slot: Slot) -> Iterator[Question]:
    rows = good_rows(joint, slot)
    for block, good, others in zip(joint.blocks, rows, others_reached(joint, rows, slot), strict=True):
        open_ = [joint.cases[place] for place in block.places if is_open(joint.cases[place])]
        if open_:
            weights = (joint.exposed[:, None] if block.exposed else 1.0) * block.law
            reached = (weights * (good @ others.T).T).sum(axis=0)
            yield from (_question(case, block, weights.sum(axis=0), reached) for case in open_)


def good_rows(joint: Joint, slot: Slot) -> list[Distribution]:
    """Return for each outcome of each block the chances of its minutes in a good session, from 0 to the slack."""
    every = [finding for case in joint.cases for finding in case.findings]
    barring = {each.key for each in every if bars(each, slot.essential)}
    settled = {each.key for each in every if each.key in barring and each.sure}
    spent = costs(each for each in every if each.counted and each.key not in settled)
    length, cells = slot.slack_min + 1, horizon_cells(slot.planned_min, slot.slack_min)
    found = (heads(block, spent, length, cells, barring - settled) for block in joint.blocks)
    return [_free(block, length) if rows is None else rows for block, rows in zip(joint.blocks, found, strict=True)]


def _free(block: Block, length: int) -> Distribution:
    rows = np.zeros((block.law.shape[1], length))
    rows[:, 0] = 1.0
    return rows


def others_reached(joint: Joint, rows: Sequence[Distribution], slot: Slot) -> list[Distribution]:
    """Return for each block the chances that all others stay within what its own minutes leave of the slack.

    Returns
    -------
    list of arrays of shape (combinations of exposures or 1, slack + 1)
        Cell *n* holds the chance of a good session if the block itself costs *n* minutes.
    """
    mixed = [block.law @ good for block, good in zip(joint.blocks, rows, strict=True)]
    plain = _left_out([each for each in mixed if len(each) == 1], slot)
    exposed = _left_out([each for each in mixed if len(each) > 1], slot)
    every = {1: _product([each for each in mixed if len(each) == 1], slot)}
    together = _product([each for each in mixed if len(each) > 1], slot)
    weighed = (joint.exposed @ together)[None] if len(together) > 1 else together
    others = [within(next(exposed), every[1]) if len(each) > 1 else within(next(plain), weighed) for each in mixed]
    return [np.cumsum(each, axis=1)[:, ::-1] for each in others]


def _product(factors: Sequence[Distribution], slot: Slot) -> Distribution:
    return reduce(within, factors, nothing_lost(slot.slack_min + 1)[None])


def _left_out(factors: Sequence[Distribution], slot: Slot) -> Iterator[Distribution]:
    """Yield the product of all factors but one, for each in turn, by running products in both directions."""
    nothing = nothing_lost(slot.slack_min + 1)[None]
    before = list(accumulate(factors, within, initial=nothing))
    after = list(accumulate(reversed(factors), within, initial=nothing))[::-1]
    return (within(before[place], after[place + 1]) for place in range(len(factors)))


def _question(case: Case, block: Block, weights: Distribution, reached: Distribution) -> Question:
    ways, turned = block.ways[case.check.key], block.turned[case.check.key]
    shares = np.bincount(turned, weights, len(ways))
    good = np.bincount(turned, reached, len(ways))
    outcomes = tuple(
        Outcome(way.fault, float(share), min(1.0, float(one / share)) if share > 0 else 0.0, way.answers)
        for way, share, one in zip(ways, shares, good, strict=True)
        if share > 0
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
