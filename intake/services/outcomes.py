"""Keep what a rider says of a complaint after a fault beside it was put right."""

from django.db import transaction
from django.utils import timezone

from intake.models import ComplaintOutcome, PreVisitCheck
from intake.selectors.outcomes import AfterRepair
from intake.services.answers import check_changeable
from intake.services.triage import lock_check
from intake.slots import SessionSlot


@transaction.atomic
def keep_outcome(
    *, pre_visit: PreVisitCheck, session_slot: SessionSlot, after: AfterRepair, score_now: int | None
) -> list[ComplaintOutcome]:
    """Add what is said of one place, a row for each repair beside it; ``score_now`` is None before a ride.

    The same said twice is kept once. Raises CheckClosedError once the session has begun: the fitter asks then.
    """
    check_changeable(session_slot)
    lock_check(pre_visit)
    area, side = after.complaint.area, after.complaint.side
    rows = ComplaintOutcome.objects.filter(pre_visit=pre_visit, area=area, side=side)
    latest = {row.finding_key: row.score_now for row in rows.order_by("pk")}
    now = timezone.now()
    return ComplaintOutcome.objects.bulk_create(
        ComplaintOutcome(
            pre_visit=pre_visit,
            area=area,
            side=side,
            finding_key=pair.key,
            rode=score_now is not None,
            score_before=after.complaint.score,
            score_now=score_now,
            answered_at=now,
        )
        for pair in after.repaired
        if pair.key not in latest or latest[pair.key] != score_now
    )
