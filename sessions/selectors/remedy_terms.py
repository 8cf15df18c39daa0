"""What a studio has set about remedies, as the triage takes it."""

from intake.catalogue.schema import CostBand
from intake.triage.terms import Amount, RemedyTerms, StudioTerms
from sessions.models import RemedyCosts, Studio
from sessions.models.costs import PAID_BANDS


def terms_of(studio: Studio) -> StudioTerms:
    """Return a studio's own terms: no query where it was read with ``select_related("remedy_costs")``."""
    costs = getattr(studio, "remedy_costs", None)
    if costs is None:
        return StudioTerms(currency=studio.currency)
    return StudioTerms(
        remedies={key: _terms(own) for key, own in (costs.terms or {}).items()},
        amounts=_amounts(costs),
        currency=studio.currency,
    )


def _terms(own: dict[str, object]) -> RemedyTerms:
    return RemedyTerms(CostBand(own["cost"]) if "cost" in own else None, own.get("lead_days"))


def _amounts(costs: RemedyCosts) -> dict[CostBand, Amount]:
    pairs = {band: (getattr(costs, f"{band.value}_from"), getattr(costs, f"{band.value}_to")) for band in PAID_BANDS}
    if any(None in pair for pair in pairs.values()):
        return {}
    return {band: Amount(float(least), float(most)) for band, (least, most) in pairs.items()}
