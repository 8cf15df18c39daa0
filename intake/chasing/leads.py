"""How long the remedies may take that a session is likely to need: from this follows how early a rider must be chased."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping

from intake.catalogue.schema import Catalogue, Check
from intake.triage.answers import Ruling
from intake.triage.asking import Question
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.red_flags import ADVICE

LIKELY = 0.9

Leads = Mapping[int, float]
"""Of one check: the probability that it turns out to need a remedy of so many working days, by those days."""


def longest_likely_lead(checks: Iterable[Leads], likely: float = LIKELY) -> int:
    """Return the working days that are enough for every remedy with this probability.

    Parameters
    ----------
    checks : iterable of Leads
        Probabilities by lead time, check by check; those of one check exclude one another, checks are independent.
    likely : float
        The probability, 0 to 1, that no longer remedy will be needed.

    Returns
    -------
    int
        A lead time that occurs [working days], or 0 where probably nothing is needed.

    Raises
    ------
    ValueError
        Where ``likely`` is no probability.

    Notes
    -----
    The longest lead needed exceeds L when any check needs more than L, so P(longest ≤ L) = Π (1 − Σ p of leads over L), exactly;
    the answer is that distribution's quantile.

    Examples
    --------
    >>> longest_likely_lead([{7: 0.08, 1: 0.3}, {4: 0.5}])
    4
    """
    if not 0 <= likely <= 1:
        raise ValueError(f"{likely} is no probability.")
    known = list(checks)
    lengths = sorted({0, *(lead for leads in known for lead in leads)})
    for lead in lengths:
        if _none_longer(known, lead) >= likely - 1e-12:
            return lead
    return lengths[-1]


def _none_longer(checks: Iterable[Leads], lead: int) -> float:
    longer = (math.fsum(share for days, share in leads.items() if days > lead) for leads in checks)
    return math.prod(max(0.0, 1 - each) for each in longer)


def likely_leads(triage: Triage, catalogue: Catalogue) -> tuple[Leads, ...]:
    """Return what each open check of a session may still need, and each finding that nobody has settled.

    A fault counts with its preferred remedy. What belongs with a clinician is left out: no working day of a studio measures it.
    """
    open_checks = (_of_check(question, catalogue) for question in triage.questions)
    found = (_of_finding(finding) for finding in triage.findings)
    return tuple(leads for leads in (*open_checks, *found) if leads)


def _of_check(question: Question, catalogue: Catalogue) -> Leads:
    leads: dict[int, float] = defaultdict(float)
    for outcome in question.outcomes:
        if outcome.fault:
            fault = question.check.fault(outcome.fault)
            for remedy in fault.remedies[:1]:
                leads[catalogue.remedies[remedy].lead_days] += outcome.probability
    return {} if _clinical(question.check) else leads


def _of_finding(finding: Finding) -> Leads:
    is_open = finding.ruling in {None, Ruling.FIX_FIRST} and finding.hazard not in ADVICE
    return {way.remedy.lead_days: finding.standing for way in finding.remedies[:1]} if is_open else {}


def _clinical(check: Check) -> bool:
    return any(fault.hazard in ADVICE for fault in check.faults)
