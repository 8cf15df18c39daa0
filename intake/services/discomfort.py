"""Keep where it hurts, how much and after how long, before the session."""

from dataclasses import dataclass

from django.db import transaction

from intake.models import Discomfort, PreVisitCheck
from intake.models.previsit import Phase
from intake.services.answers import check_changeable
from intake.services.triage import lock_check, refresh_summary
from intake.slots import SessionSlot
from intake.triage.engine import Triage


class StillHurtsError(Exception):
    """It is said that nothing hurts while a place is marked as hurting."""


@dataclass(frozen=True)
class Felt:
    """How much a place hurts from 0 to 10, after how many minutes of riding, and in the rider's words."""

    score: int
    after_min: int | None = None
    note: str = ""


@transaction.atomic
def save_discomfort(*, pre_visit: PreVisitCheck, session_slot: SessionSlot, area: str, side: str, felt: Felt) -> Triage:
    """Keep how one place feels and judge afresh. Raises CheckClosedError once this may no longer change."""
    check_changeable(session_slot)
    lock_check(pre_visit)
    Discomfort.objects.update_or_create(
        pre_visit=pre_visit,
        phase=Phase.BEFORE,
        area=area,
        side=side,
        defaults={"score": felt.score, "after_min": felt.after_min, "note": felt.note},
    )
    if felt.score:
        _set_no_discomfort(pre_visit, value=False)
    return refresh_summary(pre_visit, session_slot=session_slot)


@transaction.atomic
def forget_discomfort(*, pre_visit: PreVisitCheck, session_slot: SessionSlot, area: str, side: str) -> Triage:
    """Take back what was said about one place and judge afresh."""
    check_changeable(session_slot)
    pre_visit.discomforts.filter(phase=Phase.BEFORE, area=area, side=side).delete()
    return refresh_summary(pre_visit, session_slot=session_slot)


@transaction.atomic
def say_nothing_hurts(*, pre_visit: PreVisitCheck, session_slot: SessionSlot) -> None:
    """Keep that the rider was asked and that nothing hurts. Raises StillHurtsError beside a place that does."""
    check_changeable(session_slot)
    lock_check(pre_visit)
    if pre_visit.discomforts.filter(phase=Phase.BEFORE, score__gt=0).exists():
        raise StillHurtsError
    _set_no_discomfort(pre_visit, value=True)


def _set_no_discomfort(pre_visit: PreVisitCheck, *, value: bool) -> None:
    # Whatever was read before the lock may be another tab's past.
    pre_visit.no_discomfort = value
    pre_visit.save(update_fields=["no_discomfort"])
