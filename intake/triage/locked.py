"""The locked map: which adjustments this bike can still make, and which findings stand in the way."""

from __future__ import annotations

from dataclasses import dataclass

from intake.catalogue.schema import Adjustment, Freedom
from intake.triage.findings import Finding
from intake.triage.joint import Joint

ADJUSTMENT_WORDS = {
    Adjustment.SADDLE_HEIGHT: "saddle height",
    Adjustment.SADDLE_SETBACK: "saddle setback",
    Adjustment.SADDLE_TILT: "saddle tilt",
    Adjustment.BAR_HEIGHT_UP: "bar height upwards",
    Adjustment.BAR_HEIGHT_DOWN: "bar height downwards",
    Adjustment.BAR_REACH: "bar reach",
    Adjustment.BAR_ROTATION: "bar rotation",
    Adjustment.LEVER_POSITION: "lever position",
    Adjustment.CLEAT_FORE_AFT: "cleat position fore and aft",
    Adjustment.CLEAT_LATERAL: "cleat position sideways",
    Adjustment.CLEAT_ROTATION: "cleat rotation",
    Adjustment.PAD_HEIGHT: "pad height",
    Adjustment.PAD_REACH: "pad reach",
    Adjustment.PAD_WIDTH: "pad width",
}


@dataclass(frozen=True, slots=True)
class AdjustmentState:
    """Whether one adjustment can be made in the session.

    Attributes
    ----------
    freedom : Freedom
        What the sure findings leave of it.
    possibly : Freedom
        What is left if every listed finding that is only likely is there as well; never freer than ``freedom``.
    because : tuple of finding keys
        The listed findings that lock or limit it, strongest effect first.
    chance_locked : float
        Probability that at least one fault locks it, unanswered checks included by their usual rates.
    chance_limited : float
        Probability that at least one fault locks or limits it.
    essential : bool
        Whether the service needs it.
    """

    adjustment: Adjustment
    freedom: Freedom
    possibly: Freedom
    because: tuple[str, ...]
    chance_locked: float
    chance_limited: float
    essential: bool


def locked_map(
    joint: Joint, listed: tuple[Finding, ...], essential: frozenset[Adjustment]
) -> dict[Adjustment, AdjustmentState]:
    """Combine all findings: locked beats limited beats free, under the fitter's rulings.

    Notes
    -----
    The chance that at least one fault holds an adjustment is exact under the joint law of all checks.
    """
    touching: dict[Adjustment, list[Finding]] = {each: [] for each in Adjustment}
    for case in joint.cases:
        for finding in case.findings:
            for each, degree in finding.effects.items():
                if degree is not Freedom.FREE and finding.holding > 0:
                    touching[each].append(finding)
    return {each: _state(each, joint, held, listed, each in essential) for each, held in touching.items()}


def _state(
    adjustment: Adjustment, joint: Joint, held: list[Finding], listed: tuple[Finding, ...], essential: bool
) -> AdjustmentState:
    def degree(finding: Finding) -> Freedom:
        return finding.effects.get(adjustment, Freedom.FREE)

    holding = [finding for finding in listed if degree(finding) and finding.holding > 0]
    return AdjustmentState(
        adjustment=adjustment,
        freedom=max((degree(finding) for finding in holding if finding.sure), default=Freedom.FREE),
        possibly=max((degree(finding) for finding in holding), default=Freedom.FREE),
        because=tuple(finding.key for finding in sorted(holding, key=degree, reverse=True)),
        chance_locked=joint.chance_of_any({each.key for each in held if degree(each) is Freedom.LOCKED}),
        chance_limited=joint.chance_of_any({each.key for each in held}),
        essential=essential,
    )
