"""From answers to findings: each asked check with its belief, its faults, the rulings on them and their dates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from intake.catalogue.schema import Check, Condition, Fault, Group, Hazard, Who
from intake.triage.answers import Ruling, Slot, TriageInput
from intake.triage.beliefs import Belief, believe
from intake.triage.conditions import answer_in_force, applying_checks, conditions_left, known_answer
from intake.triage.deadlines import DatedRemedy, fix_by
from intake.triage.errors import UnknownRemedyError
from intake.triage.findings import LISTED_FROM, Case, Finding, Unknown, gravity, locks
from intake.triage.rulings import Consequence, concerns, consequence


def cases(given: TriageInput, dated: Mapping[str, DatedRemedy]) -> tuple[Case, ...]:
    """Return each check that applies, or may once more is known, with its belief and all its faults, group by group.

    Raises
    ------
    ConditionCycleError, ConditionSubjectError, ImpossibleProbabilityError, UnknownRemedyError
    """
    catalogue, bike = given.catalogue, given.bike
    asked = {check.key for check in applying_checks(catalogue, bike, given.answers)}
    left = conditions_left(catalogue, bike, given.answers)
    groups = list(Group)
    checks = sorted(
        (check for check in catalogue.checks if check.key in left), key=lambda each: groups.index(each.group)
    )
    return tuple(_case(check, given, dated, asked=check.key in asked, waits=left[check.key]) for check in checks)


def _case(
    check: Check, given: TriageInput, dated: Mapping[str, DatedRemedy], *, asked: bool, waits: tuple[Condition, ...]
) -> Case:
    answer = answer_in_force(check, given.bike, given.answers) if asked else known_answer(check, given.bike)
    belief = believe(check, answer, given.experience)
    findings = tuple(_finding(belief, fault, given, dated) for fault in check.faults)
    return Case(belief, findings, asked=asked, waits=() if asked and belief.answered else waits)


def _finding(belief: Belief, fault: Fault, given: TriageInput, dated: Mapping[str, DatedRemedy]) -> Finding:
    key = f"{belief.check.key}.{fault.key}"
    said = fault.key in belief.said
    ruling = given.rulings.get(key) or (None if said else given.rulings.get(belief.check.key))
    ways = tuple(_dated(key, remedy, dated) for remedy in fault.remedies)
    return Finding(
        key=key,
        check=belief.check,
        fault=fault,
        probability=belief.probabilities[fault.key],
        said=said,
        ruling=ruling,
        minutes=given.experience.minutes.get(key, fault.minutes),
        remedies=ways,
        consequence=_consequence(fault, ruling, ways, given.slot),
    )


def _consequence(fault: Fault, ruling: Ruling | None, ways: tuple[DatedRemedy, ...], slot: Slot) -> Consequence:
    found = consequence(ruling, too_late=_too_late_to_fix_first(ways, slot))
    planned = ruling in {Ruling.STUDIO, Ruling.BRING_PART}
    return found if planned or concerns(fault, slot.essential) else replace(found, costs=False)


def _dated(fault: str, remedy: str, dated: Mapping[str, DatedRemedy]) -> DatedRemedy:
    if remedy not in dated:
        raise UnknownRemedyError(fault, remedy)
    return dated[remedy]


def _too_late_to_fix_first(ways: tuple[DatedRemedy, ...], slot: Slot) -> bool:
    before = [way for way in ways if way.remedy.who in {Who.RIDER, Who.WORKSHOP}]
    if before:
        return all(way.late for way in before)
    return fix_by(slot.starts_on, 1, slot.working_days) < slot.today


def listed(all_cases: tuple[Case, ...], given: TriageInput) -> tuple[Finding, ...]:
    """Return the findings to show: what an answer makes likely or sure, and what a fitter has ruled on; gravest first.

    A hazard is listed at any probability that an answer gives it, anything else from one in twenty.
    """
    shown = [finding for case in all_cases for finding in case.findings if _shown(finding, given)]
    return tuple(sorted(shown, key=lambda finding: gravity(finding, given.slot.essential), reverse=True))


def _shown(finding: Finding, given: TriageInput) -> bool:
    if finding.probability == 0:
        return False
    if finding.key in given.rulings:
        return True
    return finding.said and (finding.probability >= LISTED_FROM or finding.hazard is not Hazard.NONE)


def unknowns(all_cases: tuple[Case, ...], given: TriageInput) -> tuple[Unknown, ...]:
    """Return the checks that have no answer, in the order of the cases."""
    return tuple(_unknown(case, given) for case in all_cases if case.asked and not case.belief.answered)


def _unknown(case: Case, given: TriageInput) -> Unknown:
    essential = given.slot.essential
    return Unknown(
        check=case.check,
        could_not=case.belief.could_not,
        chance=min(1.0, sum(finding.probability for finding in case.findings)),
        essential=any(locks(each, essential) or each.hazard is not Hazard.NONE for each in case.findings),
        ruling=given.rulings.get(case.check.key),
    )
