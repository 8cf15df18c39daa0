"""What a fitter's ruling on a finding changes in the forecast, in the locked map and in the verdict.

The forecast answers: *if the session were held as things stand, and the rulings are carried out*. So

=============  ===========================  ======================  ========================================
ruling         bench minutes                adjustments             verdict
=============  ===========================  ======================  ========================================
none           reach the slot               locked or limited       as the finding demands
fix first      gone, unless it is too late  free, unless too late   fix first until the finding is ruled fixed
studio         reach the slot               free: done at bench     only by its minutes
bring part     reach the slot               free: part is fitted    bring parts
accept         reach the slot               locked or limited       no longer asked about
not a fault    gone                         free                    gone
fixed          gone                         free                    gone
=============  ===========================  ======================  ========================================

A hazard is not for a fitter to accept, to promise or to plan for: it stands until it is ruled fixed or not a fault.

Nobody spends the slot on what the session leaves alone: a fault that holds only adjustments which are not essential costs no bench
minutes, unless the fitter plans it for the bench.
"""

from __future__ import annotations

from dataclasses import dataclass

from intake.catalogue.schema import Adjustment, Fault, Hazard
from intake.triage.answers import Ruling


@dataclass(frozen=True, slots=True)
class Consequence:
    """Whether a fault still stands, costs bench minutes, holds its adjustments, and counts towards the verdict."""

    stands: bool
    costs: bool
    holds: bool
    counts: bool


AS_FOUND = Consequence(stands=True, costs=True, holds=True, counts=True)
GONE = Consequence(stands=False, costs=False, holds=False, counts=False)
AT_BENCH = Consequence(stands=True, costs=True, holds=False, counts=True)

CONSEQUENCES = {
    None: AS_FOUND,
    Ruling.FIX_FIRST: Consequence(stands=True, costs=False, holds=False, counts=False),
    Ruling.STUDIO: AT_BENCH,
    Ruling.BRING_PART: AT_BENCH,
    Ruling.ACCEPT: Consequence(stands=True, costs=True, holds=True, counts=False),
    Ruling.NOT_A_FAULT: GONE,
    Ruling.FIXED: GONE,
}


def concerns(fault: Fault, essential: frozenset[Adjustment]) -> bool:
    """Say whether a session with these essential adjustments has to do with a fault.

    It has not where the fault does nothing but hold other adjustments: not where it can hurt somebody, falsifies what is
    measured, or simply slows the work.
    """
    weighs = fault.hazard is not Hazard.NONE or fault.unreliable or not fault.effects
    return weighs or bool(fault.effects.keys() & essential)


def consequence(ruling: Ruling | None, *, too_late: bool) -> Consequence:
    """Return what a ruling means; ``too_late`` when nothing can put the fault right before the slot any more."""
    if ruling is Ruling.FIX_FIRST and too_late:
        return AS_FOUND
    return CONSEQUENCES[ruling]
