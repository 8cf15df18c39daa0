"""Answers that belong with a clinician before anything about a bike: never a diagnosis, always the same advice."""

from __future__ import annotations

from dataclasses import dataclass

from intake.catalogue.schema import Hazard
from intake.triage.findings import Finding

ADVICE = {
    Hazard.EMERGENCY: "This comes before anything about a bike: please get medical help today. The session can wait.",
    Hazard.SEE_CLINICIAN: (
        "Please see a doctor or physiotherapist before the session. We are not clinicians and do not guess at a cause."
    ),
}


@dataclass(frozen=True, slots=True)
class RedFlag:
    """A finding that stops the session until a clinician has been seen, with the advice that goes above the fault's own text."""

    finding: Finding
    hazard: Hazard
    advice: str


def red_flags(listed: tuple[Finding, ...]) -> tuple[RedFlag, ...]:
    """Return the red flags that stand, emergencies first.

    One is lifted only by the fitter's ruling that it is not so, or that a clinician has settled it (fixed). Accepting it, or any
    other ruling, does not lift it. A doubtful answer raises the flag like a clear one.
    """
    flags = [
        RedFlag(finding, finding.hazard, ADVICE[finding.hazard])
        for finding in listed
        if finding.hazard in ADVICE and finding.standing > 0
    ]
    return tuple(sorted(flags, key=lambda flag: flag.hazard is not Hazard.EMERGENCY))
