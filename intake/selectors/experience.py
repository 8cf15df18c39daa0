"""What the studio has learned: one query, or one that finds nothing."""

from django.db.models import Subquery

from intake.catalogue.schema import Catalogue
from intake.experience.learning import Counted, PriorWeights, experience
from intake.models import FaultExperience, LearningWeights
from intake.selectors.catalogue import current_catalogue
from intake.triage.answers import Experience

USUAL_WEIGHTS = PriorWeights()


def studio_experience(catalogue: Catalogue | None = None) -> Experience:
    """Return what forecasts reckon with, beside this catalogue or the one that is asked now: one query."""
    rows = _with_weights(seen__gt=0)
    if not rows:
        return Experience()
    weights = PriorWeights(
        sessions=rows[0].weight_sessions or USUAL_WEIGHTS.sessions, faults=rows[0].weight_faults or USUAL_WEIGHTS.faults
    )
    counted = {row.finding_key: row.counted() for row in rows}
    return experience(catalogue or current_catalogue(), counted, weights)


def _with_weights(**wanted: int) -> list[FaultExperience]:
    weights = LearningWeights.objects.all()
    return list(
        FaultExperience.objects.filter(**wanted).annotate(
            weight_sessions=Subquery(weights.values("sessions")[:1]),
            weight_faults=Subquery(weights.values("faults")[:1]),
        )
    )


def counts() -> dict[str, Counted]:
    """Return what was counted of each fault: one query."""
    return {row.finding_key: row.counted() for row in FaultExperience.objects.all()}


def prior_weights() -> PriorWeights:
    """Return the weights in force: one query."""
    row = LearningWeights.objects.first()
    return PriorWeights(row.sessions, row.faults) if row else USUAL_WEIGHTS
