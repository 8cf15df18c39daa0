"""The whole triage: values in, values out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from intake.catalogue.schema import Adjustment, Check
from intake.triage.agenda import decision_due, extend_min, first_ready_on, needed
from intake.triage.answers import Complaint, Slot, TriageInput
from intake.triage.asking import Question, rank_questions
from intake.triage.building import joint_law
from intake.triage.cases import cases, listed, unknowns
from intake.triage.conditions import known_answer
from intake.triage.deadlines import dated_remedies
from intake.triage.findings import Finding, Unknown
from intake.triage.forecast import Forecast, forecast_of, horizon_cells
from intake.triage.joint import Joint
from intake.triage.locked import AdjustmentState, locked_map
from intake.triage.misfits import Misfit, misfits
from intake.triage.reasons import reasons
from intake.triage.red_flags import RedFlag, red_flags
from intake.triage.sums import costs, grid_sum
from intake.triage.suspects import Suspect, suspects
from intake.triage.verdict import Reason, Verdict


@dataclass(frozen=True, slots=True)
class Triage:
    """What a rider's answers mean for a session.

    Attributes
    ----------
    asked : tuple of Check
        The checks that the rider is asked, in the order of their pages; what a known fact of the bike answers is not among them.
    findings : tuple of Finding
        What the answers show, gravest first, with what a fitter has ruled on.
    unknowns : tuple of Unknown
        Asked checks without an answer.
    misfits : tuple of Misfit
        Answers that do not count as they stand, each with what became of it.
    red_flags, stopped
        What belongs with a clinician. While one stands the session is stopped, whatever the verdict, which speaks of the bike alone.
    forecast : Forecast
        Bench minutes, readiness and chance to run to plan, if the session were held as things stand and the rulings carried out.
    adjustments : mapping of Adjustment to AdjustmentState
        The locked map.
    reasons : tuple of Reason
        Never empty, gravest first; the first one's verdict is ``verdict``.
    questions : tuple of Question
        Unanswered checks, the most worth asking first.
    suspects : tuple of Suspect
        Complaints beside findings worth ruling out first.
    decision_due : date or None
        When the desk must have decided; orders the review list.
    first_ready_on : date or None
        First day on which everything needed could be put right if it started today; None where nothing is needed.
    extend_min : int or None
        Minutes by which the slot must grow to run to plan often enough, 0 where it does; None where no extension is enough.
    joint : Joint
        Every check that applies, or may, with the law of all that they can show together: what the rest was computed from.
    """

    slot: Slot
    complaints: tuple[Complaint, ...]
    asked: tuple[Check, ...]
    findings: tuple[Finding, ...]
    unknowns: tuple[Unknown, ...]
    misfits: tuple[Misfit, ...] = field(compare=False)
    red_flags: tuple[RedFlag, ...]
    forecast: Forecast
    adjustments: Mapping[Adjustment, AdjustmentState]
    reasons: tuple[Reason, ...]
    questions: tuple[Question, ...]
    suspects: tuple[Suspect, ...]
    decision_due: date | None
    first_ready_on: date | None
    extend_min: int | None
    joint: Joint = field(compare=False, repr=False)

    @property
    def verdict(self) -> Verdict:
        """The gravest verdict that has a reason."""
        return self.reasons[0].verdict

    @property
    def stopped(self) -> bool:
        """Whether a clinician comes before the session."""
        return bool(self.red_flags)

    def finding(self, key: str) -> Finding:
        """Return the listed finding with this key; KeyError where there is none."""
        for finding in self.findings:
            if finding.key == key:
                return finding
        raise KeyError(key)


def triage(given: TriageInput) -> Triage:
    """Decide what the answers mean for the session.

    Answers to checks that are not asked of this bike, or no longer exist, change nothing.

    Raises
    ------
    TriageError
        Where the catalogue, the slot, the working days or the experience cannot be meant; never for anything a rider answered.
    """
    joint = _joint(given)
    shown = listed(joint.cases, given)
    return _judged(given, joint, shown, session_forecast(joint, given.slot))


def forecast_alone(given: TriageInput) -> Forecast:
    """Return the forecast that `triage` would give, without anything else: for those who compare forecasts."""
    return session_forecast(_joint(given), given.slot)


def _joint(given: TriageInput) -> Joint:
    return joint_law(cases(given, dated_remedies(given.catalogue.remedies, given.slot)), given)


def session_forecast(joint: Joint, slot: Slot) -> Forecast:
    """Forecast the session from every fault of every check that applies, or may, under the fitter's rulings."""
    findings = [finding for case in joint.cases for finding in case.findings]
    pmf = grid_sum(joint, costs(findings), horizon_cells(slot.planned_min, slot.slack_min))
    return forecast_of(pmf, slot.planned_min, slot.slack_min, math.fsum(each.expected_min for each in findings))


def _judged(given: TriageInput, joint: Joint, shown: tuple[Finding, ...], lost: Forecast) -> Triage:
    slot, all_cases = given.slot, joint.cases
    why, flags = reasons(joint, shown, slot), red_flags(shown)
    hangs_on = needed(shown, why)
    return Triage(
        slot=slot,
        complaints=given.complaints,
        asked=tuple(case.check for case in all_cases if case.asked and known_answer(case.check, given.bike) is None),
        findings=shown,
        unknowns=unknowns(all_cases, given),
        misfits=misfits(given, all_cases),
        red_flags=flags,
        forecast=lost,
        adjustments=locked_map(joint, shown, slot.essential),
        reasons=why,
        questions=rank_questions(joint, slot),
        suspects=suspects(given, shown),
        decision_due=decision_due(all_cases, hangs_on, why, flags, slot),
        first_ready_on=first_ready_on(hangs_on),
        extend_min=extend_min(lost, slot),
        joint=joint,
    )
