"""Why a verdict holds: one rule for each ground, in words that a rider understands."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from intake.catalogue.schema import Adjustment, Check, Freedom, Hazard
from intake.triage.answers import Ruling, Slot
from intake.triage.chances import Chances, chances, fits_slack, is_doubtful, is_probable, possible
from intake.triage.findings import Case, Finding, bars, locks
from intake.triage.locked import ADJUSTMENT_WORDS, chance_of_any
from intake.triage.parts import brings, parts_to_bring
from intake.triage.verdict import Reason, Verdict
from intake.triage.words import check_titles, percent, titles


@dataclass(frozen=True, slots=True)
class Scene:
    """What the rules of the verdict look at."""

    cases: tuple[Case, ...]
    listed: tuple[Finding, ...]
    slot: Slot
    chances: Chances


def reasons(cases: tuple[Case, ...], listed: tuple[Finding, ...], slot: Slot) -> tuple[Reason, ...]:
    """Return the reasons for the verdict, the gravest first; the verdict is that of the first.

    Lighter reasons follow the graver ones, so that nothing has to be found out one at a time. A session with no reason against
    it is clear, and says so.
    """
    scene = Scene(cases, listed, slot, chances(cases, slot))
    found = [reason for rule in RULES for reason in rule(scene)]
    return tuple(sorted(found, key=lambda reason: -reason.verdict.weight)) or (_clear(scene),)


def _hazards(scene: Scene) -> list[Reason]:
    return [
        Reason(Verdict.DO_NOT_RIDE, "hazard", _hazard_text(finding), (finding.key,))
        for finding in scene.listed
        if finding.hazard is Hazard.DO_NOT_RIDE and finding.standing > 0
    ]


def _hazard_text(finding: Finding) -> str:
    if finding.sure:
        return f"Do not ride this bike until this is put right: {finding.title}."
    return f"Do not ride this bike until a qualified mechanic has ruled this out: {finding.title}."


def _ruled_fix_first(scene: Scene) -> list[Reason]:
    return [
        Reason(
            Verdict.FIX_FIRST,
            "ruled_fix_first",
            f"To be put right before the session: {finding.title}.",
            (finding.key,),
        )
        for finding in scene.listed
        if finding.ruling is Ruling.FIX_FIRST
    ]


def _locked(scene: Scene) -> list[Reason]:
    held = {each: _holding(each, scene) for each in _essential(scene)}
    return [_locked_reason(adjustment, findings) for adjustment, findings in held.items() if findings]


def _essential(scene: Scene) -> list[Adjustment]:
    return [each for each in Adjustment if each in scene.slot.essential]


def _holding(adjustment: Adjustment, scene: Scene) -> list[Finding]:
    """Return the findings that lock an adjustment, where together they are likely enough to act on."""
    said = [finding for finding in scene.listed if finding.said and _blocks(finding, scene)]
    held = [finding for finding in said if adjustment in locks(finding, scene.slot.essential)]
    chance = chance_of_any([each for each in held if each.check.key == check.key] for check in _checks_of(held))
    return held if chance >= scene.slot.thresholds.probably_locked else []


def _checks_of(findings: list[Finding]) -> list[Check]:
    return list({finding.check.key: finding.check for finding in findings}.values())


def _locked_reason(adjustment: Adjustment, held: list[Finding]) -> Reason:
    words = ADJUSTMENT_WORDS[adjustment].capitalize()
    can = "cannot" if any(finding.sure for finding in held) else "probably cannot"
    text = f"{words}: this {can} be changed as the bike stands, and the session needs it. {titles(held)}."
    return Reason(Verdict.FIX_FIRST, "locked", text, _keys(held))


def _unreliable(scene: Scene) -> list[Reason]:
    return [
        Reason(
            Verdict.FIX_FIRST,
            "unreliable",
            f"What is measured would not be true until this is put right: {finding.title}.",
            (finding.key,),
        )
        for finding in scene.listed
        if is_probable(finding, scene.slot) and finding.fault.unreliable and _blocks(finding, scene)
    ]


def _blocks(finding: Finding, scene: Scene) -> bool:
    return finding.hazard is Hazard.NONE and bars(finding, scene.slot.essential)


def _overrun(scene: Scene) -> list[Reason]:
    costly = _costly(scene)
    if not costly or not _overruns(scene):
        return []
    planned = all(finding.ruling in {Ruling.STUDIO, Ruling.BRING_PART} for finding in costly)
    return [_overrun_reason(costly, scene.chances.now, scene.slot, planned=planned)]


def _overruns(scene: Scene) -> bool:
    least, chance = scene.slot.thresholds.least_chance, scene.chances
    return chance.best < least or (chance.now < least and not _undecided_minutes(scene))


def _undecided_minutes(scene: Scene) -> bool:
    return scene.chances.best - scene.chances.worst > scene.slot.thresholds.ask_gain


def _costly(scene: Scene) -> list[Finding]:
    costly = [finding for finding in scene.listed if finding.counted and finding.said and finding.expected_min > 0]
    return sorted(costly, key=lambda finding: finding.expected_min, reverse=True)


def _overrun_reason(costly: list[Finding], chance: float, slot: Slot, *, planned: bool) -> Reason:
    minutes = round(sum(finding.expected_min for finding in costly))
    text = (
        f"Only {percent(chance)} of such sessions run to plan, and this studio asks for "
        f"{percent(slot.thresholds.least_chance)}. On average {minutes} minutes go on: {titles(costly)}."
    )
    if planned:
        return Reason(Verdict.FIX_FIRST, "bench_overrun", f"{text} The slot needs more time.", _keys(costly))
    return Reason(Verdict.FIX_FIRST, "overrun", text, _keys(costly))


def _unknown_hazards(scene: Scene) -> list[Reason]:
    found = [case for case in scene.cases if any(_unknown_hazard(finding) for finding in case.findings)]
    text = f"Not known yet, and it matters for safety: {check_titles(found)}."
    return [_ask("unknown_hazard", text, found)] if found else []


def _unknown_hazard(finding: Finding) -> bool:
    return finding.hazard is not Hazard.NONE and not finding.said and finding.counted and finding.probability > 0


def _unknown_locks(scene: Scene) -> list[Reason]:
    found = []
    for adjustment in (each for each in _essential(scene) if not _holding(each, scene)):
        undecided, chance = _undecided(scene, adjustment)
        if chance >= scene.slot.thresholds.unsure_locked:
            words = ADJUSTMENT_WORDS[adjustment].capitalize()
            text = f"{words}: not sure yet that this can be changed. {check_titles(undecided)}."
            found.append(_ask("unknown_lock", text, undecided))
    return found


def _undecided(scene: Scene, adjustment: Adjustment) -> tuple[list[Case], float]:
    open_ = {case.check.key: _open_locks(case, adjustment) for case in scene.cases}
    held = [case for case in scene.cases if any(each.holding > 0 for each in open_[case.check.key])]
    held.sort(key=lambda case: -sum(each.holding for each in open_[case.check.key]))
    return held, chance_of_any(open_.values())


def _open_locks(case: Case, adjustment: Adjustment) -> list[Finding]:
    locking = [each for each in case.findings if each.effects.get(adjustment) is Freedom.LOCKED and not each.sure]
    return [each for each in locking if each.counted and each.hazard is Hazard.NONE and not each.only_to_bring]


def _unknown_readings(scene: Scene) -> list[Reason]:
    open_ = {case.check.key: [each for each in case.findings if _may_falsify(each, scene)] for case in scene.cases}
    found = [case for case in scene.cases if open_[case.check.key]]
    if chance_of_any(open_.values()) < scene.slot.thresholds.unsure_locked:
        return []
    text = f"Not sure yet whether what is measured would be true. {check_titles(found)}."
    return [_ask("unknown_readings", text, found)]


def _may_falsify(finding: Finding, scene: Scene) -> bool:
    open_ = finding.holding > 0 and finding.counted and not is_probable(finding, scene.slot)
    return open_ and finding.fault.unreliable and finding.hazard is Hazard.NONE and not brings(finding, scene.slot)


def _unknown_minutes(scene: Scene) -> list[Reason]:
    limits, chance = scene.slot.thresholds, scene.chances
    open_ = sorted(scene.cases, key=lambda case: -_leverage(case, scene.slot))
    open_ = [case for case in open_ if _leverage(case, scene.slot) > 0]
    spans = chance.worst < limits.least_chance <= chance.best
    decides = _undecided_minutes(scene) or (chance.now < limits.least_chance and not _costly(scene))
    if not (open_ and spans and decides):
        return []
    text = (
        f"What is not sure yet decides it: between {percent(chance.worst)} and {percent(chance.best)} of such sessions "
        f"run to plan, depending on {check_titles(open_)}."
    )
    return [_ask("unknown_minutes", text, open_)]


def _leverage(case: Case, slot: Slot) -> float:
    doubtful = [finding for finding in case.findings if is_doubtful(finding, slot)]
    return sum(each.probability * (1 - fits_slack(each, slot)) for each in [*possible(case, slot), *doubtful])


def _ask(code: str, text: str, cases: list[Case]) -> Reason:
    return Reason(Verdict.ASK_RIDER, code, text, checks=tuple(case.check.key for case in cases))


def _bring(scene: Scene) -> list[Reason]:
    return [
        Reason(
            Verdict.BRING_PARTS, "bring", f"Please bring: {parts_to_bring(finding)}. {finding.title}.", (finding.key,)
        )
        for finding in scene.listed
        if brings(finding, scene.slot)
    ]


def _clear(scene: Scene) -> Reason:
    text = f"Nothing that is known of the bike stands in the way: {percent(scene.chances.now)} of such sessions run to plan."
    return Reason(Verdict.CLEAR, "clear", text)


RULES: tuple[Callable[[Scene], list[Reason]], ...] = (
    _hazards,
    _ruled_fix_first,
    _locked,
    _unreliable,
    _overrun,
    _unknown_hazards,
    _unknown_locks,
    _unknown_readings,
    _unknown_minutes,
    _bring,
)


def _keys(findings: list[Finding]) -> tuple[str, ...]:
    return tuple(finding.key for finding in findings)
