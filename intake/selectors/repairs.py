"""Which report on a repair is in force, and what it is worth to the triage."""

from collections.abc import Iterable, Mapping

from intake.catalogue.schema import Catalogue, Hazard
from intake.models import CheckAnswer, RepairReport
from intake.models.repairs import RepairOutcome, RepairSource
from intake.triage.answers import Ruling
from intake.triage.red_flags import ADVICE


def reports_in_force(
    reports: Iterable[RepairReport], decided: Mapping[str, int], answers: Mapping[str, CheckAnswer]
) -> dict[str, RepairReport]:
    """Return by finding the report that counts, from those of one check in the order in which they came.

    ``decided`` is the id of the studio's latest decision on each finding. A later decision, or a later answer to the check, is a
    newer word than a report. A rider who repeats what a workshop has reported takes nothing away from it.
    """
    in_force: dict[str, RepairReport] = {}
    for report in reports:
        before = in_force.get(report.finding_key)
        if _is_newest_word(report, decided, answers) and not (before and _outweighs(before, report)):
            in_force[report.finding_key] = report
    return in_force


def _is_newest_word(report: RepairReport, decided: Mapping[str, int], answers: Mapping[str, CheckAnswer]) -> bool:
    if decided.get(report.finding_key, 0) > (report.since_decision_id or 0):
        return False
    answer = answers.get(report.finding_key.partition(".")[0])
    return answer is None or answer.answered_at <= report.reported_at


def _outweighs(before: RepairReport, report: RepairReport) -> bool:
    both_done = before.outcome == report.outcome == RepairOutcome.DONE
    return both_done and before.source == RepairSource.WORKSHOP and report.source == RepairSource.RIDER


def with_repairs(
    rulings: Mapping[str, Ruling], reports: Mapping[str, RepairReport], catalogue: Catalogue
) -> dict[str, Ruling]:
    """Return the rulings with what the reports in force add: done counts as fixed as far as that word goes, anything else reopens."""
    ruled = dict(rulings)
    for key, report in reports.items():
        if report.outcome != RepairOutcome.DONE:
            if ruled.get(key) is Ruling.FIXED:
                del ruled[key]
        elif lifts(report, catalogue):
            ruled[key] = Ruling.FIXED
    return ruled


def lifts(report: RepairReport, catalogue: Catalogue) -> bool:
    """Return whether a report that something is done settles it, or waits for the studio to confirm it.

    A red flag is for staff alone to lift. What is not to be ridden is not lifted by the rider's word, but by a workshop's.
    """
    hazard = hazard_of(report.finding_key, catalogue)
    if hazard is None or hazard in ADVICE:
        return False
    return hazard is Hazard.NONE or report.source == RepairSource.WORKSHOP


def hazard_of(finding_key: str, catalogue: Catalogue) -> Hazard | None:
    """Return what a finding can do to the rider; None where the catalogue does not know it."""
    check_key, _dot, fault_key = finding_key.partition(".")
    try:
        return catalogue.check(check_key).fault(fault_key).hazard
    except KeyError:
        return None
