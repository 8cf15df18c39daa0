"""The lines that a job sheet can have: what the triage shows and a workshop could put right, in words for a mechanic."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from intake.catalogue.schema import Hazard, Who
from intake.edge.words import answer_words
from intake.models import CheckAnswer, PreVisitCheck
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import Told, input_of, judge, told_of
from intake.slots import SessionSlot
from intake.triage.answers import Ruling
from intake.triage.deadlines import DatedRemedy
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.phrases import percent
from intake.triage.red_flags import ADVICE
from sessions.selectors.workshop.needs import session_needs

OTHER_LEAD_DAYS = 1


@dataclass(frozen=True)
class JobDraft:
    """One possible line; ``suggested`` where a workshop is the way and nobody has decided otherwise."""

    finding_key: str
    title: str
    wrong: str
    needs: tuple[str, ...]
    work: str
    part: str
    caution: str
    not_to_ride: bool
    lead_days: int
    start_by: date | None
    late: bool
    suggested: bool


def drafts_of_check(pre_visit: PreVisitCheck, session_slot: SessionSlot) -> tuple[JobDraft, ...]:
    """Return the lines that fit a check as it stands, judged afresh."""
    told = told_of([pre_visit.pk])[pre_visit.pk]
    result = judge(input_of(pre_visit, told, session_slot, current_catalogue()))
    return job_drafts(result, told, pre_visit.client.length_unit)


def job_drafts(triage: Triage, told: Told, unit: str) -> tuple[JobDraft, ...]:
    """Return a line for each finding on the bike that still stands, gravest first; what belongs with a clinician is none."""
    standing = [each for each in triage.findings if each.hazard not in ADVICE and each.consequence.stands]
    return tuple(_draft(finding, triage, told.answers, unit) for finding in standing)


def _draft(finding: Finding, triage: Triage, answers: Mapping[str, CheckAnswer], unit: str) -> JobDraft:
    ways = finding.ways(Who.WORKSHOP)
    quickest = min(ways, key=lambda way: way.remedy.lead_days, default=None)
    return JobDraft(
        finding_key=finding.key,
        title=finding.title[:200],
        wrong=_wrong(finding, answers.get(finding.check.key), unit),
        needs=session_needs(finding, triage.slot.essential),
        work="\n".join(way.remedy.title for way in ways),
        part="; ".join(dict.fromkeys(way.remedy.part for way in ways if way.remedy.part))[:300],
        caution=finding.check.caution,
        not_to_ride=finding.hazard is Hazard.DO_NOT_RIDE,
        lead_days=quickest.remedy.lead_days if quickest else OTHER_LEAD_DAYS,
        start_by=quickest.fix_by if quickest else None,
        late=quickest is not None and quickest.late,
        suggested=_suggested(finding, triage, ways),
    )


def _suggested(finding: Finding, triage: Triage, ways: tuple[DatedRemedy, ...]) -> bool:
    """Return whether a workshop should get it: it can do it, it is likely enough to matter, and nothing else was decided."""
    likely = finding.probability >= triage.slot.thresholds.unsure_locked or finding.hazard is Hazard.DO_NOT_RIDE
    return bool(ways) and likely and finding.ruling in {None, Ruling.FIX_FIRST}


def _wrong(finding: Finding, row: CheckAnswer | None, unit: str) -> str:
    """Return what is known, as a mechanic can check it: the question that was asked and what the rider answered."""
    words = answer_words(finding.check, row, unit) if row else ""
    if not words:
        return _("Nobody has looked yet. Please check: %(question)s") % {"question": finding.check.question}
    said = _("%(question)s The rider, at home: “%(answer)s”.") % {
        "question": finding.check.question,
        "answer": words,
    }
    if finding.sure:
        return said
    return _("%(said)s So the fault is likely (%(share)s), not certain.") % {
        "said": said,
        "share": percent(finding.probability),
    }
