"""The studio's word on what was reported as put right: confirmed, or not yet."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from intake.models import FindingDecision
from intake.models.repairs import RepairOutcome
from intake.selectors.triage import told_of
from intake.services.triage import lock_check, refresh_summary
from intake.triage.answers import Ruling
from intake.triage.engine import Triage
from sessions.diary.states import ENDED, SessionState
from sessions.models import FitSession
from sessions.services.review.decisions import FindingGoneError, SessionOverError


@transaction.atomic
def answer_repair(
    *, fit_session: FitSession, key: str, agreed: bool, note: str = "", by: AbstractBaseUser | None
) -> Triage:
    """Confirm a reported repair, or put the finding back to what was decided before the report; judge afresh.

    Either way it is a decision like any other, and outweighs the report. Raises SessionOverError, and FindingGoneError where no
    report waits: somebody has answered it already, or the rider has taken it back.
    """
    if SessionState(fit_session.state) in ENDED:
        raise SessionOverError
    lock_check(fit_session.pre_visit)
    told = told_of([fit_session.pre_visit_id])[fit_session.pre_visit_id]
    report = told.repairs.get(key)
    if report is None or report.outcome != RepairOutcome.DONE:
        raise FindingGoneError(key)
    before = told.rulings.get(key)
    ruling = Ruling.FIXED if agreed else None if before is Ruling.FIXED else before
    FindingDecision.objects.create(
        pre_visit=fit_session.pre_visit,
        finding_key=key,
        ruling=ruling.value if ruling else "",
        note=note,
        decided_by=by,
    )
    return refresh_summary(fit_session.pre_visit)
