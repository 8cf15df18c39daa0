"""When the desk must decide, when the session could be ready, and what is left where a remedy comes too late."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from intake.catalogue.schema import Hazard
from intake.triage.answers import Slot
from intake.triage.chances import is_doubtful, possible
from intake.triage.deadlines import DatedRemedy
from intake.triage.findings import Case, Finding
from intake.triage.forecast import Forecast
from intake.triage.red_flags import RedFlag
from intake.triage.verdict import Reason, Verdict


class LateChoice(StrEnum):
    """What the desk can do about a finding whose remedies all come too late."""

    MOVE = "move"
    EXTEND = "extend"
    AT_BENCH = "at_bench"
    ACCEPT = "accept"


@dataclass(frozen=True, slots=True)
class LateOption:
    """One choice for a late finding; ``move_to`` is the first day that fits, ``extra_min`` how much longer the slot must be."""

    choice: LateChoice
    move_to: date | None = None
    extra_min: int | None = None


def needed(listed: tuple[Finding, ...], reasons: tuple[Reason, ...]) -> tuple[Finding, ...]:
    """Return the findings that some reason for the verdict names."""
    named = {key for reason in reasons for key in reason.findings}
    return tuple(finding for finding in listed if finding.key in named)


def first_ready_on(findings: Iterable[Finding]) -> date | None:
    """Return the first day on which all these findings can be put right if everything starts today; None without a remedy.

    Each finding takes its quickest remedy.
    """
    return max((_quickest(finding.remedies) for finding in findings if finding.remedies), default=None)


def _quickest(remedies: tuple[DatedRemedy, ...]) -> date:
    return min(way.first_ready_on for way in remedies)


def decision_due(
    cases: tuple[Case, ...],
    findings: tuple[Finding, ...],
    reasons: tuple[Reason, ...],
    red_flags: tuple[RedFlag, ...],
    slot: Slot,
) -> date | None:
    """Return the day by which somebody must decide, None where nothing waits for a decision.

    That is the earliest fix-by that is still open among the remedies of what needs a decision: after it, a way is lost. It is
    today where none is open any more, where a red flag stands, and where work planned for the bench does not fit the slot.
    Findings that are ruled on wait for nobody, unless they were to be fixed first and that has become too late. With the rider
    to be asked, the remedies of what may still be found count.
    """
    if red_flags or any(reason.code == "bench_overrun" for reason in reasons):
        return slot.today
    waiting = [finding for finding in findings if finding.ruling is None or _overtaken(finding)]
    if not waiting and reasons[0].verdict is Verdict.ASK_RIDER:
        waiting = [finding for case in cases for finding in _still_possible(case, reasons, slot)]
        return _earliest_open(waiting, slot) or slot.today
    return (_earliest_open(waiting, slot) or slot.today) if waiting else None


def _overtaken(finding: Finding) -> bool:
    return finding.late and finding.consequence.counts and finding.consequence.holds


def _still_possible(case: Case, reasons: tuple[Reason, ...], slot: Slot) -> list[Finding]:
    asked = {key for reason in reasons for key in reason.checks}
    hazards = [finding for finding in case.findings if finding.hazard is not Hazard.NONE and not finding.said]
    doubtful = [finding for finding in case.findings if is_doubtful(finding, slot)]
    return hazards + doubtful + possible(case, slot) if case.check.key in asked else []


def _earliest_open(findings: list[Finding], slot: Slot) -> date | None:
    days = (way.fix_by for finding in findings for way in finding.remedies)
    return min((day for day in days if slot.today <= day), default=None)


def extend_min(forecast: Forecast, slot: Slot) -> int | None:
    """Return by how many minutes the slot must grow to run to plan often enough; None where no forecast extension is enough."""
    enough = forecast.quantile_min(slot.thresholds.least_chance)
    return None if enough >= forecast.last_min else max(0, enough - slot.slack_min)


def late_options(finding: Finding, extra_min: int | None) -> tuple[LateOption, ...]:
    """Return what the desk can choose for a late finding, nothing where a remedy is still in time.

    Extending is offered where it helps, work at the bench where its minutes are known, and a hazard is never offered to accept.
    """
    if not finding.late:
        return ()
    options = [LateOption(LateChoice.MOVE, move_to=_quickest(finding.remedies))]
    if extra_min:
        options.append(LateOption(LateChoice.EXTEND, extra_min=extra_min))
    if finding.minutes is not None:
        options.append(LateOption(LateChoice.AT_BENCH, extra_min=extra_min))
    if finding.hazard is Hazard.NONE:
        options.append(LateOption(LateChoice.ACCEPT))
    return tuple(options)
