"""The parts that a rider is to bring."""

from __future__ import annotations

from intake.catalogue.schema import Who
from intake.triage.answers import Ruling, Slot
from intake.triage.chances import is_probable
from intake.triage.findings import Finding, bars
from intake.triage.rulings import concerns


def brings(finding: Finding, slot: Slot) -> bool:
    """Say whether the rider is to bring a part for this finding: so ruled, or likely enough and still in time.

    A probable fault that bars the session is to be put right first, and bringing the part is only one of its remedies; with one
    that is merely doubtful, the part comes along in case.
    """
    if finding.ruling is not None or (is_probable(finding, slot) and bars(finding, slot.essential)):
        return finding.ruling is Ruling.BRING_PART and finding.standing > 0
    in_time = any(not way.late for way in finding.ways(Who.BRING)) and concerns(finding.fault, slot.essential)
    return in_time and finding.said and finding.probability >= slot.thresholds.unsure_locked


def parts_to_bring(finding: Finding) -> str:
    """Return the named parts of a finding's remedies, or its title where none is named."""
    ways = finding.ways(Who.BRING) or finding.remedies
    parts = dict.fromkeys(way.remedy.part for way in ways if way.remedy.part)
    return ", or ".join(parts) or f"what is needed for “{finding.title}”"


def to_bring(listed: tuple[Finding, ...], slot: Slot) -> dict[str, list[Finding]]:
    """Return what to bring, each part once, with the findings that it is for."""
    by_what: dict[str, list[Finding]] = {}
    for finding in listed:
        if brings(finding, slot):
            by_what.setdefault(parts_to_bring(finding), []).append(finding)
    return by_what
