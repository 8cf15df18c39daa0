"""Keep what riders and workshops say about putting a finding right, and judge afresh."""

from django.db import transaction

from intake.models import FindingDecision, Photo, PreVisitCheck, RepairReport
from intake.models.repairs import DoneBy, RepairOutcome, RepairSource
from intake.services.answers import check_changeable
from intake.services.photos import Picture, keep_photo
from intake.services.triage import lock_check, refresh_summary
from intake.slots import SessionSlot, slots_of

LONGEST_NOTE = 500
LONGEST_NAME = 200


@transaction.atomic
def report_repair(
    *,
    pre_visit: PreVisitCheck,
    finding_key: str,
    source: RepairSource | str,
    outcome: RepairOutcome | str,
    note: str = "",
    photo: Photo | None = None,
    reporter_name: str = "",
    done_by: DoneBy | str = DoneBy.UNSAID,
) -> RepairReport:
    """Add one report on a finding and judge the check afresh.

    The same said again, with no decision of the studio in between, adds nothing: a form sent twice reports once.
    """
    lock_check(pre_visit)
    said = {
        "source": RepairSource(source),
        "outcome": RepairOutcome(outcome),
        "done_by": DoneBy(done_by),
        "note": note[:LONGEST_NOTE],
        "photo": photo,
        "reporter_name": reporter_name[:LONGEST_NAME],
        "since_decision": _latest_decision(pre_visit, finding_key),
    }
    latest = RepairReport.objects.filter(pre_visit=pre_visit, finding_key=finding_key).order_by("pk").last()
    if latest is not None and all(getattr(latest, name) == value for name, value in said.items()):
        return latest
    report = RepairReport.objects.create(pre_visit=pre_visit, finding_key=finding_key, **said)
    _judge(pre_visit)
    return report


def _latest_decision(pre_visit: PreVisitCheck, finding_key: str) -> FindingDecision | None:
    return FindingDecision.objects.filter(pre_visit=pre_visit, finding_key=finding_key).order_by("pk").last()


def _judge(pre_visit: PreVisitCheck) -> None:
    session_slot = slots_of([pre_visit.pk]).get(pre_visit.pk)
    if session_slot is not None:  # a check without a session has no verdict
        refresh_summary(pre_visit, session_slot=session_slot)


@transaction.atomic
def report_fixed(
    *,
    pre_visit: PreVisitCheck,
    session_slot: SessionSlot,
    finding_key: str,
    done_by: str,
    note: str = "",
    picture: Picture | None = None,
) -> RepairReport:
    """Keep a rider's word that a finding is put right, with a photo.

    Raises CheckClosedError once the session has begun, TooManyPhotosError.
    """
    check_changeable(session_slot)
    return report_repair(
        pre_visit=pre_visit,
        finding_key=finding_key,
        source=RepairSource.RIDER,
        outcome=RepairOutcome.DONE,
        done_by=done_by,
        note=note,
        photo=keep_photo(pre_visit=pre_visit, picture=picture) if picture else None,
    )


def report_back(*, pre_visit: PreVisitCheck, session_slot: SessionSlot, finding_key: str) -> RepairReport:
    """Keep a rider's word that a fault has come back. Raises CheckClosedError once the session has begun."""
    check_changeable(session_slot)
    return report_repair(
        pre_visit=pre_visit, finding_key=finding_key, source=RepairSource.RIDER, outcome=RepairOutcome.CAME_BACK
    )
