"""Keep what a workshop answers, line by line: the finding closes or waits for the desk, and the rider is told."""

from uuid import UUID

from django.db import transaction

from intake.models import JobAnswer, JobLine
from intake.models.repairs import RepairSource
from intake.models.workshops import JobOutcome
from intake.services.repairs import report_repair
from intake.services.triage import lock_check
from sessions.models import FitSession
from sessions.services.workshop.mail import tell_rider_of_answer
from sessions.services.workshop.sheets import check_open


@transaction.atomic
def answer_line(
    *,
    line: JobLine,
    fit_session: FitSession,
    outcome: JobOutcome | str,
    answered_by: str,
    request_key: UUID,
    note: str = "",
) -> JobAnswer:
    """Add one answer; nothing that somebody else has answered is touched. The same form sent twice answers once.

    Raises JobOverError once the session has ended.
    """
    lock_check(fit_session.pre_visit)
    if same := JobAnswer.objects.filter(line=line, request_key=request_key).first():
        return same
    check_open(fit_session)
    answer = JobAnswer.objects.create(
        line=line, outcome=JobOutcome(outcome), note=note, answered_by=answered_by, request_key=request_key
    )
    report_repair(
        pre_visit=fit_session.pre_visit,
        finding_key=line.finding_key,
        source=RepairSource.WORKSHOP,
        outcome=answer.outcome,
        note=note,
        reporter_name=answered_by,
    )
    tell_rider_of_answer(answer=answer, fit_session=fit_session)
    return answer


def answers_meanwhile(answer: JobAnswer, seen: int) -> list[JobAnswer]:
    """Return what others answered to the same line since the page was loaded, whose latest answer then was ``seen``."""
    return list(JobAnswer.objects.filter(line=answer.line_id, pk__gt=seen).exclude(pk=answer.pk).order_by("pk"))
