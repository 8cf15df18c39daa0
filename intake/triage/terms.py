"""What a studio says about remedies: what each band costs there, and where a remedy is cheaper, dearer, quicker or slower."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from intake.catalogue.schema import CostBand, Remedy

# How the bands compare where a studio has not said what they are in money: from memory of common practice, no source.
USUAL_WEIGHTS: Mapping[CostBand, float] = {
    CostBand.FREE: 0.0,
    CostBand.LOW: 20.0,
    CostBand.MIDDLE: 70.0,
    CostBand.HIGH: 200.0,
}


@dataclass(frozen=True, slots=True)
class RemedyTerms:
    """A studio's own band and lead time [working days] for one remedy; None leaves the catalogue's."""

    cost: CostBand | None = None
    lead_days: int | None = None


@dataclass(frozen=True, slots=True)
class Amount:
    """What a band usually costs, from and to, in the studio's currency."""

    from_: float
    to: float

    @property
    def middle(self) -> float:
        """Return the amount to reckon with."""
        return (self.from_ + self.to) / 2


@dataclass(frozen=True, slots=True)
class StudioTerms:
    """All that a studio has set about remedies; empty means the catalogue's own.

    ``remedies`` is keyed by remedy; ``amounts`` names every band but the free one, or none; ``currency`` is three letters.
    """

    remedies: Mapping[str, RemedyTerms] = field(default_factory=dict)
    amounts: Mapping[CostBand, Amount] = field(default_factory=dict)
    currency: str = ""

    def of(self, remedy: Remedy) -> Remedy:
        """Return a remedy as this studio knows it."""
        own = self.remedies.get(remedy.key)
        if own is None:
            return remedy
        lead_days = remedy.lead_days if own.lead_days is None else own.lead_days
        return replace(remedy, cost=own.cost or remedy.cost, lead_days=lead_days)

    def weight(self, band: CostBand) -> float:
        """Return what a band counts when plans are compared: the middle of its amounts, or its usual weight."""
        if band is CostBand.FREE:
            return 0.0
        return self.amounts[band].middle if band in self.amounts else USUAL_WEIGHTS[band]
