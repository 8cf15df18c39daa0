"""What is not known, or not sure, and would decide about a session: reasons to ask the rider."""

from __future__ import annotations

from collections.abc import Iterable

from intake.catalogue.schema import Adjustment, Freedom, Hazard
from intake.triage.answers import Slot
from intake.triage.chances import fits_slack, is_doubtful, is_probable, possible
from intake.triage.findings import Case, Finding
from intake.triage.hindrances import holding
from intake.triage.parts import brings
from intake.triage.phrases import adjustment_words, check_titles, of_what_counts, percent
from intake.triage.scene import Scene
from intake.triage.verdict import Reason, Verdict


def unknown_hazards(scene: Scene) -> list[Reason]:
    """Return the reason where a check that could show a hazard has no answer."""
    found = _to_ask((case for case in scene.cases if any(map(_unknown_hazard, case.findings))), scene)
    text = f"Not known yet, and it matters for safety: {check_titles(found)}."
    return [_ask("unknown_hazard", text, found)] if found else []


def _unknown_hazard(finding: Finding) -> bool:
    return finding.hazard is not Hazard.NONE and not finding.said and finding.counted and finding.probability > 0


def unknown_locks(scene: Scene) -> list[Reason]:
    """Return a reason for each set of open checks that may well lock essential adjustments."""
    by_checks: dict[tuple[str, ...], list[Adjustment]] = {}
    for adjustment in (each for each in scene.essential if not holding(each, scene)):
        undecided, chance = _undecided(scene, adjustment)
        if chance >= scene.slot.thresholds.unsure_locked:
            by_checks.setdefault(tuple(case.check.key for case in undecided), []).append(adjustment)
    return [_unknown_lock(checks, adjustments, scene) for checks, adjustments in by_checks.items()]


def _unknown_lock(checks: tuple[str, ...], adjustments: list[Adjustment], scene: Scene) -> Reason:
    by_key = {case.check.key: case for case in scene.cases}
    open_ = _to_ask((by_key[key] for key in checks), scene)
    text = f"Not sure yet that this can be changed: {adjustment_words(adjustments)}. {check_titles(open_)}."
    return _ask("unknown_lock", text, open_)


def _undecided(scene: Scene, adjustment: Adjustment) -> tuple[list[Case], float]:
    open_ = {case.check.key: _open_locks(case, adjustment) for case in scene.cases}
    held = [case for case in scene.cases if any(each.holding > 0 for each in open_[case.check.key])]
    held.sort(key=lambda case: -sum(each.holding for each in open_[case.check.key]))
    return held, scene.joint.chance_of_any(_holding(open_.values()))


def _holding(open_: Iterable[Iterable[Finding]]) -> set[str]:
    return {each.key for findings in open_ for each in findings if each.holding > 0}


def _open_locks(case: Case, adjustment: Adjustment) -> list[Finding]:
    locking = [each for each in case.findings if each.effects.get(adjustment) is Freedom.LOCKED and not each.sure]
    return [each for each in locking if each.counted and each.hazard is Hazard.NONE and not each.only_to_bring]


def unknown_readings(scene: Scene) -> list[Reason]:
    """Return the reason where something open may well falsify what is measured."""
    open_ = {case.check.key: [each for each in case.findings if _may_falsify(each, scene)] for case in scene.cases}
    found = _to_ask((case for case in scene.cases if open_[case.check.key]), scene)
    if scene.joint.chance_of_any(_holding(open_.values())) < scene.slot.thresholds.unsure_locked:
        return []
    text = f"Not sure yet whether what is measured would be true. {check_titles(found)}."
    return [_ask("unknown_readings", text, found)]


def _may_falsify(finding: Finding, scene: Scene) -> bool:
    open_ = finding.holding > 0 and finding.counted and not is_probable(finding, scene.slot)
    return open_ and finding.fault.unreliable and finding.hazard is Hazard.NONE and not brings(finding, scene.slot)


def unknown_minutes(scene: Scene) -> list[Reason]:
    """Return the reason where the answers still open decide whether the session runs to plan."""
    limits, chance = scene.slot.thresholds, scene.chances
    open_ = _open_cases(scene)
    spans = chance.worst < limits.least_chance <= chance.best
    decides = scene.undecided or (chance.now < limits.least_chance and not scene.costly)
    if not (open_ and spans and decides):
        return []
    text = of_what_counts(
        f"What is not sure yet decides it: between {percent(chance.worst)} and {percent(chance.best)} of such sessions "
        f"run to plan, depending on {check_titles(open_)}.",
        leaves_aside=scene.leaves_aside,
    )
    return [_ask("unknown_minutes", text, open_)]


def _open_cases(scene: Scene) -> list[Case]:
    """Return the checks whose outcome can cost more than the slack, the weightiest first; rare faults only where all are rare."""
    for rare in (False, True):
        weights = {case.check.key: _leverage(case, scene.slot, rare=rare) for case in scene.cases}
        if found := [case for case in scene.cases if weights[case.check.key] > 0]:
            return sorted(found, key=lambda case: -weights[case.check.key])
    return []


def _leverage(case: Case, slot: Slot, *, rare: bool) -> float:
    unknown = [each for each in case.findings if not each.said and each.counted] if rare else possible(case, slot)
    doubtful = [finding for finding in case.findings if is_doubtful(finding, slot)]
    return sum((each.probability - each.moot) * (1 - fits_slack(each, slot)) for each in [*unknown, *doubtful])


def _ask(code: str, text: str, cases: list[Case]) -> Reason:
    return Reason(Verdict.ASK_RIDER, code, text, checks=tuple(case.check.key for case in cases))


def _to_ask(cases: Iterable[Case], scene: Scene) -> list[Case]:
    """Return these checks, each that is not asked yet replaced by those that it waits for."""
    by_key = {case.check.key: case for case in scene.cases}
    to_ask: dict[str, Case] = {}
    waiting = list(cases)
    while waiting:
        case = waiting.pop(0)
        if case.asked:
            to_ask.setdefault(case.check.key, case)
        else:
            waiting[:0] = [by_key[condition.subject.partition(".")[2]] for condition in case.waits]
    return list(to_ask.values())
