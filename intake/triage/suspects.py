"""Mechanical suspects: findings that are worth ruling out before a complaint is put down to the position."""

from __future__ import annotations

from dataclasses import dataclass

from intake.catalogue.schema import BodyArea, Hazard
from intake.triage.answers import Complaint
from intake.triage.findings import Finding

SIDE_WORDS = {"both": "both sides"}


@dataclass(frozen=True, slots=True)
class Suspect:
    """A complaint beside a finding that can go with it: a possibility, never a cause."""

    complaint: Complaint
    finding: Finding
    text: str


def suspects(
    complaints: tuple[Complaint, ...], listed: tuple[Finding, ...], areas: tuple[BodyArea, ...]
) -> tuple[Suspect, ...]:
    """Pair each complaint with the standing findings that name its body area, the worst complaint first.

    A score of 0 is no complaint. Likely findings are paired like sure ones, after them.
    """
    labels = {area.key: area.label for area in areas}
    pairs = [
        (complaint, finding)
        for complaint in complaints
        for finding in listed
        if complaint.score > 0 and complaint.area in finding.fault.areas and _mechanical(finding)
    ]
    pairs.sort(key=lambda pair: (-pair[0].score, -pair[1].probability))
    return tuple(Suspect(complaint, finding, _text(complaint, finding, labels)) for complaint, finding in pairs)


def _mechanical(finding: Finding) -> bool:
    return finding.standing > 0 and finding.hazard in {Hazard.NONE, Hazard.DO_NOT_RIDE}


def _text(complaint: Complaint, finding: Finding, labels: dict[str, str]) -> str:
    area = labels.get(complaint.area, complaint.area)
    side = f", {SIDE_WORDS.get(complaint.side, complaint.side)}" if complaint.side else ""
    found = "found" if finding.sure else "possibly there"
    return f"{area}{side} ({complaint.score} of 10): worth ruling out first, {found}: {finding.title}."
