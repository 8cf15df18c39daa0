"""What a rider has reported as put right, and what still can be."""

from dataclasses import dataclass

from intake.models import RepairReport
from intake.models.repairs import RepairOutcome
from intake.selectors.previsit import CheckList
from intake.selectors.repairs import lifts
from intake.triage.findings import Finding
from intake.triage.red_flags import ADVICE


@dataclass(frozen=True)
class Repaired:
    """A finding that was reported as put right. Where it ``waits``, that alone does not lift it: the studio has to confirm it."""

    finding: Finding
    report: RepairReport
    waits: bool


def repaired(checks: CheckList) -> tuple[Repaired, ...]:
    """Return what is reported as put right and stands so, in the order of the findings."""
    reports, catalogue = checks.told.repairs, checks.given.catalogue
    return tuple(
        Repaired(finding, report, waits=not lifts(report, catalogue))
        for finding in checks.triage.findings
        if (report := reports.get(finding.key)) is not None and report.outcome == RepairOutcome.DONE
    )


def finding_to_fix(checks: CheckList, key: str) -> Finding | None:
    """Return a finding that a rider may report on; None where there is none, or where a clinician comes first."""
    found = (finding for finding in checks.triage.findings if finding.key == key)
    return next((finding for finding in found if finding.hazard not in ADVICE), None)
