"""Small turns of phrase that the sentences of a triage share."""

from __future__ import annotations

import math
from collections.abc import Sequence

from intake.catalogue.schema import Adjustment
from intake.triage.findings import Case, Finding
from intake.triage.locked import ADJUSTMENT_WORDS

NAMED_CHECKS = 3


def percent(share: float) -> str:
    """Return a share as whole percent, rounded down so that no chance is overstated.

    >>> percent(0.7499)
    '74 %'
    """
    return f"{math.floor(100 * share + 1e-6)} %"


def of_what_counts(text: str, *, leaves_aside: bool) -> str:
    """Return a sentence on chances, which says so where they leave aside what was accepted.

    >>> of_what_counts("Only 52 % run to plan.", leaves_aside=True)
    'What was accepted left aside, only 52 % run to plan.'
    """
    return f"What was accepted left aside, {text[:1].lower()}{text[1:]}" if leaves_aside else text


def adjustment_words(adjustments: Sequence[Adjustment]) -> str:
    """Return adjustments in words, ready to begin a sentence.

    >>> adjustment_words([Adjustment.SADDLE_HEIGHT, Adjustment.BAR_REACH])
    'Saddle height, bar reach'
    """
    words = ", ".join(ADJUSTMENT_WORDS[each] for each in adjustments)
    return words[:1].upper() + words[1:]


def keys(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Return the keys of findings."""
    return tuple(finding.key for finding in findings)


def titles(findings: Sequence[Finding]) -> str:
    """Return the titles of findings as one line."""
    return "; ".join(finding.title for finding in findings)


def check_titles(cases: Sequence[Case]) -> str:
    """Return the titles of the first checks as one line, and how many more there are."""
    named = "; ".join(case.check.title.rstrip(". ") for case in cases[:NAMED_CHECKS])
    more = len(cases) - NAMED_CHECKS
    return f"{named}; and {more} more" if more > 0 else named
