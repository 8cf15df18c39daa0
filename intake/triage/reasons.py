"""Why a verdict holds: one rule for each ground, in words that a rider understands."""

from __future__ import annotations

from collections.abc import Callable

from intake.catalogue.schema import Hazard
from intake.triage.answers import Ruling, Slot
from intake.triage.chances import chances
from intake.triage.doubts import unknown_hazards, unknown_locks, unknown_minutes, unknown_readings
from intake.triage.findings import Finding
from intake.triage.hindrances import locked, overrun, unreliable
from intake.triage.joint import Joint
from intake.triage.parts import to_bring
from intake.triage.phrases import keys, of_what_counts, percent, titles
from intake.triage.scene import Scene
from intake.triage.verdict import Reason, Verdict


def reasons(joint: Joint, listed: tuple[Finding, ...], slot: Slot) -> tuple[Reason, ...]:
    """Return the reasons for the verdict, the gravest first; the verdict is that of the first.

    Lighter reasons follow the graver ones, so that nothing has to be found out one at a time. A session with no reason against
    it is clear, and says so.
    """
    scene = Scene(joint, listed, slot, chances(joint, slot))
    return tuple(reason for rule in RULES_GRAVEST_FIRST for reason in rule(scene)) or (_clear(scene),)


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


def _bring(scene: Scene) -> list[Reason]:
    return [
        Reason(Verdict.BRING_PARTS, "bring", f"Please bring: {what}. {titles(findings)}.", keys(findings))
        for what, findings in to_bring(scene.listed, scene.slot).items()
    ]


def _clear(scene: Scene) -> Reason:
    text = f"Nothing that is known of the bike stands in the way: {percent(scene.chances.now)} of such sessions run to plan."
    return Reason(Verdict.CLEAR, "clear", of_what_counts(text, leaves_aside=scene.leaves_aside))


RULES_GRAVEST_FIRST: tuple[Callable[[Scene], list[Reason]], ...] = (
    _hazards,
    _ruled_fix_first,
    locked,
    unreliable,
    overrun,
    unknown_hazards,
    unknown_locks,
    unknown_readings,
    unknown_minutes,
    _bring,
)
