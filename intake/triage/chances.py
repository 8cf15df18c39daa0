"""The chance to run to plan as it bears on the verdict: now, without what is unknown, and at its worst."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from intake.triage.answers import Slot
from intake.triage.findings import LISTED_FROM, Case, Finding
from intake.triage.forecast import Part, check_distribution, head, horizon_cells
from intake.triage.lognormal import Distribution, discretised


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances that the bench minutes which count towards the verdict stay within the slack.

    ``now`` takes everything by its probability. ``best`` takes what is unknown or only doubtful as no fault at all, ``worst`` takes each
    unknown check by its costliest possible fault.
    """

    now: float
    best: float
    worst: float


def chances(cases: tuple[Case, ...], slot: Slot) -> Chances:
    """Return the chances for these checks in this slot."""
    every = [[_counted(finding) for finding in case.findings] for case in cases]
    probable = [[_counted(finding) for finding in case.findings if is_probable(finding, slot)] for case in cases]
    worst = [_worst(case, slot) or parts for case, parts in zip(cases, every, strict=True)]
    now = chance_within(every, slot)
    return Chances(now=now, best=chance_within(probable, slot), worst=min(now, chance_within(worst, slot)))


def is_probable(finding: Finding, slot: Slot) -> bool:
    """Say whether an answer makes a fault likely enough to act on it as if it were sure."""
    return finding.said and finding.probability >= slot.thresholds.probably_locked


def chance_without(removed: Collection[str], cases: tuple[Case, ...], slot: Slot) -> float:
    """Return the chance that is left by what answers say, once the findings with these keys are put right."""
    left = ([each for each in case.findings if each.said and each.key not in removed] for case in cases)
    return chance_within(([_counted(each) for each in findings] for findings in left), slot)


def chance_within(checks: Iterable[list[Part]], slot: Slot) -> float:
    """Return the probability that these checks together cost no more than the slack."""
    cells = horizon_cells(slot.planned_min, slot.slack_min)
    known = (check_distribution(parts, cells) for parts in checks)
    return min(1.0, float(head((one for one in known if one is not None), slot.slack_min).sum()))


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


def _counted(finding: Finding) -> Part:
    return (finding.at_slot, finding.minutes) if finding.counted else (0.0, None)


def _worst(case: Case, slot: Slot) -> list[Part] | None:
    costly = [finding for finding in possible(case, slot) if fits_slack(finding, slot) < 1]
    if not costly:
        return None
    return [(1.0, min(costly, key=lambda finding: fits_slack(finding, slot)).minutes)]
