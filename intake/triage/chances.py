"""The chance to run to plan as it bears on the verdict: now, without what is unknown, and at its worst."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

import numpy as np

from intake.triage.answers import Slot
from intake.triage.findings import LISTED_FROM, Case, Finding
from intake.triage.forecast import horizon_cells, nothing_lost
from intake.triage.joint import Block, Flags, Joint
from intake.triage.lognormal import Distribution, discretised
from intake.triage.sums import Costs, chance_within, costs, heads, within


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances that the bench minutes which count towards the verdict stay within the slack.

    ``now`` takes everything by its probability. ``best`` takes what is unknown or only doubtful as no fault at all, ``worst`` takes each
    unknown check by its costliest possible fault, and checks that hang on one another by the costliest that can be there together.
    """

    now: float
    best: float
    worst: float


def chances(joint: Joint, slot: Slot) -> Chances:
    """Return the chances for these checks in this slot."""
    every = [finding for case in joint.cases for finding in case.findings if finding.counted]
    now = _chance(every, joint, slot)
    best = _chance((each for each in every if is_probable(each, slot)), joint, slot)
    return Chances(now=now, best=best, worst=min(now, _worst(costs(every), joint, slot)))


def is_probable(finding: Finding, slot: Slot) -> bool:
    """Say whether an answer makes a fault likely enough to act on it as if it were sure."""
    return finding.said and finding.probability >= slot.thresholds.probably_locked


def chance_without(removed: Collection[str], joint: Joint, slot: Slot) -> float:
    """Return the chance that is left by what answers say, once the findings with these keys are put right."""
    every = (finding for case in joint.cases for finding in case.findings)
    return _chance((each for each in every if each.said and each.counted and each.key not in removed), joint, slot)


def _chance(findings: Iterable[Finding], joint: Joint, slot: Slot) -> float:
    return chance_within(joint, costs(findings), slot.slack_min, horizon_cells(slot.planned_min, slot.slack_min))


def fits_slack(finding: Finding, slot: Slot) -> float:
    """Return the probability that this fault alone, if it is there, costs no more than the slack."""
    if finding.minutes is None or not finding.consequence.costs or not finding.counted:
        return 1.0
    minutes: Distribution = discretised(finding.minutes, horizon_cells(slot.planned_min, slot.slack_min))
    return float(minutes[: slot.slack_min + 1].sum())


def possible(case: Case, slot: Slot) -> list[Finding]:
    """Return the faults of which nothing is known and which are not too rare to reckon with."""
    return [
        finding
        for finding in case.findings
        if not finding.said and finding.counted and finding.probability >= slot.thresholds.reckoned_from
    ]


def is_doubtful(finding: Finding, slot: Slot) -> bool:
    """Say whether an answer leaves a fault open: likely enough to be listed, not likely enough to act on."""
    return finding.said and finding.counted and LISTED_FROM <= finding.probability < slot.thresholds.probably_locked


def _worst(spent: Costs, joint: Joint, slot: Slot) -> float:
    """Return the chance under the worst answers that can still be given together, with all that they say about the exposures."""
    length, cells = slot.slack_min + 1, horizon_cells(slot.planned_min, slot.slack_min)
    summed, mass = nothing_lost(length)[None], joint.exposed
    for block in joint.blocks:
        rows = heads(block, spent, length, cells)
        if rows is None:
            continue
        law = block.law * _worst_outcomes(block, rows, joint, slot)
        mass = mass * law.sum(axis=1)
        summed = within(summed, law @ rows)
    weighed = joint.exposed @ summed if len(summed) > 1 else summed[0] * joint.exposed.sum()
    return float(weighed.sum() / mass.sum()) if mass.sum() > 0 else 1.0


def _worst_outcomes(block: Block, rows: Distribution, joint: Joint, slot: Slot) -> Flags:
    """Return the outcomes in which the unknown checks of a block show what together leaves the least chance."""
    costly = {
        place: [each.key for each in possible(joint.cases[place], slot) if fits_slack(each, slot) < 1]
        for place in block.places
    }
    allowed = np.ones(rows.shape[0], dtype=np.bool_)
    shown = np.zeros(rows.shape[0], dtype=np.int64)
    for place in block.places:
        if not costly[place]:
            continue
        for each in joint.cases[place].findings:
            if each.key in costly[place]:
                at = block.keys.index(each.key)
                shown += block.there[at].astype(np.int64) << at
            elif each.key in block.keys:
                allowed &= ~block.there[block.keys.index(each.key)]
    if not any(costly.values()) or not allowed.any():
        return np.ones_like(allowed)
    weights = joint.outcomes(block)
    fits = rows.sum(axis=1)
    ratios = {int(code): _ratio(weights, fits, allowed & (shown == code)) for code in np.unique(shown[allowed])}
    chosen: Flags = allowed & (shown == min(ratios, key=lambda code: ratios[code]))
    return chosen


def _ratio(weights: Distribution, fits: Distribution, among: Flags) -> float:
    mass = float(weights[among].sum())
    return float(weights[among] @ fits[among]) / mass if mass > 0 else 1.0
