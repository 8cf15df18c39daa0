"""What answers have shown that stands in the way of a session: locks, falsified readings, too many minutes."""

from __future__ import annotations

from intake.catalogue.schema import Adjustment, Hazard
from intake.triage.answers import Ruling
from intake.triage.chances import chance_without, is_probable
from intake.triage.findings import Finding, bars, locks
from intake.triage.phrases import adjustment_words, keys, of_what_counts, percent, titles
from intake.triage.scene import Scene
from intake.triage.verdict import Reason, Verdict


def locked(scene: Scene) -> list[Reason]:
    """Return a reason for each set of faults that locks essential adjustments."""
    by_faults: dict[tuple[str, ...], list[Adjustment]] = {}
    for adjustment in scene.essential:
        by_faults.setdefault(keys(holding(adjustment, scene)), []).append(adjustment)
    return [_locked_reason(faults, adjustments, scene) for faults, adjustments in by_faults.items() if faults]


def holding(adjustment: Adjustment, scene: Scene) -> list[Finding]:
    """Return the findings that lock an adjustment, where together they are likely enough to act on."""
    said = [finding for finding in scene.listed if finding.said and _blocks(finding, scene)]
    held = [finding for finding in said if adjustment in locks(finding, scene.slot.essential)]
    chance = scene.joint.chance_of_any({each.key for each in held if each.holding > 0})
    return held if chance >= scene.slot.thresholds.probably_locked else []


def _locked_reason(faults: tuple[str, ...], adjustments: list[Adjustment], scene: Scene) -> Reason:
    held = [finding for finding in scene.listed if finding.key in faults]
    can = "cannot" if any(finding.sure for finding in held) else "probably cannot"
    text = f"{adjustment_words(adjustments)} {can} be changed as the bike stands, and the session needs it. {titles(held)}."
    return Reason(Verdict.FIX_FIRST, "locked", text, faults)


def unreliable(scene: Scene) -> list[Reason]:
    """Return a reason for each probable fault that falsifies what is measured."""
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


def overrun(scene: Scene) -> list[Reason]:
    """Return the reason where what answers have shown leaves too small a chance to run to plan."""
    if not scene.costly or not _overruns(scene):
        return []
    blamed = _to_blame(scene)
    planned = all(finding.ruling in {Ruling.STUDIO, Ruling.BRING_PART} for finding in blamed)
    return [_overrun_reason(blamed, scene, planned=planned)]


def _overruns(scene: Scene) -> bool:
    least, chance = scene.slot.thresholds.least_chance, scene.chances
    return chance.best < least or (chance.now < least and not scene.undecided)


def _to_blame(scene: Scene) -> list[Finding]:
    """Return the costliest findings, as many as would have to be put right for the session to run to plan often enough."""
    blamed: list[Finding] = []
    for finding in scene.costly:
        blamed.append(finding)
        if chance_without(keys(blamed), scene.joint, scene.slot) >= scene.slot.thresholds.least_chance:
            break
    return blamed


def _overrun_reason(costly: list[Finding], scene: Scene, *, planned: bool) -> Reason:
    minutes = round(sum(finding.expected_min for finding in costly))
    text = of_what_counts(
        f"Only {percent(scene.chances.now)} of such sessions run to plan, and this studio asks for "
        f"{percent(scene.slot.thresholds.least_chance)}. On average {minutes} minutes go on: {titles(costly)}.",
        leaves_aside=scene.leaves_aside,
    )
    if planned:
        return Reason(Verdict.FIX_FIRST, "bench_overrun", f"{text} The slot needs more time.", keys(costly))
    return Reason(Verdict.FIX_FIRST, "overrun", text, keys(costly))
