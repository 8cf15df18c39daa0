"""Small turns of phrase that the sentences of a triage share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from intake.triage.findings import Case, Finding

NAMED_CHECKS = 3


def percent(share: float) -> str:
    """Return a share as whole percent, rounded down so that no chance is overstated.

    >>> percent(0.7499)
    '74 %'
    """
    return f"{math.floor(100 * share + 1e-6)} %"


def titles(findings: Sequence[Finding]) -> str:
    """Return the titles of findings as one line."""
    return "; ".join(finding.title for finding in findings)


def check_titles(cases: Sequence[Case]) -> str:
    """Return the titles of the first checks as one line, and how many more there are."""
    named = "; ".join(case.check.title.rstrip(". ") for case in cases[:NAMED_CHECKS])
    more = len(cases) - NAMED_CHECKS
    return f"{named}; and {more} more" if more > 0 else named
