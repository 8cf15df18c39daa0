"""Judge checks again after anything that bears on them has changed, and keep what lists show."""

from collections.abc import Iterable

from django.db import transaction

from intake.models import PreVisitCheck, TriageSummary
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import judge, triage_input, triage_inputs
from intake.slots import SessionSlot, slot_of, slots_of
from intake.triage.engine import Triage
from intake.triage.phrases import titles

BATCH = 60  # A fraction of a second to judge, and one statement to store, also on SQLite.
KEPT = (
    "verdict",
    "stopped",
    "readiness_pct",
    "chance_to_plan",
    "expected_bench_min",
    "open_findings",
    "unanswered",
    "decision_due_on",
    "reason",
    "computed_on",
    "catalogue_version",
)


def refresh_summary(pre_visit: PreVisitCheck, *, session_slot: SessionSlot | None = None) -> Triage:
    """Judge one check afresh, keep its summary and return the triage."""
    catalogue = current_catalogue()
    with transaction.atomic(savepoint=False):
        lock_check(pre_visit)
        result = judge(triage_input(pre_visit, session_slot or slot_of(pre_visit.pk), catalogue))
        _store([summary_of(pre_visit.pk, result, catalogue.version)])
    return result


def refresh_many(pre_visits: Iterable[PreVisitCheck]) -> dict[int, TriageSummary]:
    """Judge many checks afresh; keep and return their summaries by check id.

    Let them come with their bikes (``select_related("bike")``). Those without a session are left out. A batch at a time, so that
    riders who are answering never wait long, and nothing of one batch is held in memory for the next; each batch takes a number of
    queries that does not depend on how many checks are in it.
    """
    kept, checks = {}, list(pre_visits)
    for start in range(0, len(checks), BATCH):
        kept |= _refresh_batch(checks[start : start + BATCH])
    return kept


def _refresh_batch(checks: list[PreVisitCheck]) -> dict[int, TriageSummary]:
    catalogue, pre_visit_ids = current_catalogue(), [pre_visit.pk for pre_visit in checks]
    with transaction.atomic(savepoint=False):
        lock_checks(pre_visit_ids)
        given = triage_inputs(checks, slots_of(pre_visit_ids), catalogue)
        summaries = {pk: summary_of(pk, judge(each), catalogue.version) for pk, each in given.items()}
        _store(summaries.values())
    return summaries


def lock_check(pre_visit: PreVisitCheck) -> None:
    """Keep other writers of one check waiting for the rest of the transaction."""
    lock_checks([pre_visit.pk])


def lock_checks(pre_visit_ids: list[int]) -> None:
    """Wait for others who are judging these checks, so that the summary that stays has seen everybody's answers."""
    locked = PreVisitCheck.objects.select_for_update().filter(pk__in=pre_visit_ids).order_by("pk")
    list(locked.values_list("pk", flat=True))


def _store(summaries: Iterable[TriageSummary]) -> None:
    TriageSummary.objects.bulk_create(summaries, update_conflicts=True, unique_fields=["pre_visit"], update_fields=KEPT)


def summary_of(pre_visit_id: int, result: Triage, catalogue_version: str) -> TriageSummary:
    """Return what lists show of a triage, not stored yet."""
    return TriageSummary(
        pre_visit_id=pre_visit_id,
        verdict=result.verdict.value,
        stopped=result.stopped,
        readiness_pct=result.forecast.readiness_pct,
        chance_to_plan=result.forecast.chance,
        expected_bench_min=result.forecast.expected_min,
        open_findings=sum(finding.ruling is None for finding in result.findings),
        unanswered=len(result.unknowns),
        decision_due_on=result.decision_due,
        reason=_reason(result),
        computed_on=result.slot.today,
        catalogue_version=catalogue_version,
    )


def _reason(result: Triage) -> str:
    """Return why the session waits, or else the gravest reason of its verdict."""
    if result.stopped:
        return titles([flag.finding for flag in result.red_flags])
    return result.reasons[0].text
