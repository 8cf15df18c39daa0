"""What the rider is told: plain lists for their page, for the mail and for the print."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from intake.catalogue.schema import Hazard, Who
from intake.triage.answers import Complaint, Ruling
from intake.triage.deadlines import DatedRemedy
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.parts import to_bring
from intake.triage.red_flags import ADVICE

BEFORE = (Who.RIDER, Who.WORKSHOP, Who.BRING)
MECHANIC_FIRST = "A cracked, crashed or doubtful frame, fork, bar, post or rail is not ridden until a qualified mechanic has inspected it."
TIGHTEN_AS_PRINTED = (
    "Bolts are tightened to the figure printed on the part or in its maker's instructions, with a torque tool. Carbon parts are "
    "not heated, forced or clamped where the maker forbids it. A post stays inside its minimum-insertion mark."
)
PAIN_FIRST = (
    "Pain that is severe, new, spreading, or with numbness, weakness, chest pain or a recent injury belongs with a doctor or "
    "physiotherapist before a session."
)


@dataclass(frozen=True, slots=True)
class Errand:
    """Something to put right before the slot.

    ``by`` is the last day for the preferred way that is still open, None where no way is; ``needed`` says whether the session
    hangs on it; ``ways`` are who can do it, in the catalogue's order, each with its own last day.
    """

    finding: Finding
    by: date | None
    needed: bool
    ways: tuple[DatedRemedy, ...]


@dataclass(frozen=True, slots=True)
class Parcel:
    """Something to bring, and what for; ``unless_fixed`` when the rider may as well have it put right before."""

    findings: tuple[Finding, ...]
    what: str
    by: date | None
    unless_fixed: bool


@dataclass(frozen=True, slots=True)
class RiderAdvice:
    """Everything that a rider is told, each part a list that may be empty.

    Attributes
    ----------
    stop : tuple of str
        Advice that comes before everything else: see a clinician, or emergency care.
    do_not_ride : tuple of str
        Why the bike is not to be ridden.
    before : tuple of Errand
        What to put right before the slot: what can hurt somebody, then what the session hangs on, then the rest; in each, what
        is too late already and what must start soonest first.
    bring : tuple of Parcel
        What to bring.
    at_studio : tuple of Finding
        What the studio sees to: so ruled, or its own preferred remedy for what the session does not hang on.
    unknown : tuple of str
        Titles of the checks that are still without an answer.
    worth_ruling_out : tuple of str
        Complaints beside findings, worded as possibilities.
    cautions : tuple of str
        Cautions that apply.
    """

    stop: tuple[str, ...]
    do_not_ride: tuple[str, ...]
    before: tuple[Errand, ...]
    bring: tuple[Parcel, ...]
    at_studio: tuple[Finding, ...]
    unknown: tuple[str, ...]
    worth_ruling_out: tuple[str, ...]
    cautions: tuple[str, ...]


def what_to_do(triage: Triage) -> RiderAdvice:
    """Return what the rider of this session is told."""
    return RiderAdvice(
        stop=_stop(triage),
        do_not_ride=tuple(reason.text for reason in triage.reasons if reason.code == "hazard"),
        before=_before(triage),
        bring=tuple(_parcel(what, tuple(each)) for what, each in to_bring(triage.findings, triage.slot).items()),
        at_studio=tuple(finding for finding in triage.findings if _left_to_studio(finding, triage)),
        unknown=tuple(unknown.check.title for unknown in triage.unknowns),
        worth_ruling_out=tuple(suspect.text for suspect in triage.suspects),
        cautions=_cautions(triage),
    )


def _stop(triage: Triage) -> tuple[str, ...]:
    general = [flag.advice for flag in triage.red_flags]
    return tuple(dict.fromkeys([*general, *(flag.finding.fault.rider_text for flag in triage.red_flags)]))


def _before(triage: Triage) -> tuple[Errand, ...]:
    found = [finding for finding in triage.findings if _to_put_right(finding, triage)]
    errands = [_errand(finding, needed=_needed(finding, triage)) for finding in found]
    return tuple(
        sorted(errands, key=lambda errand: (not _dangerous(errand.finding), not errand.needed, errand.by or date.min))
    )


def _needed(finding: Finding, triage: Triage) -> bool:
    return any(finding.key in reason.findings for reason in triage.reasons)


def _to_put_right(finding: Finding, triage: Triage) -> bool:
    if finding.ruling is Ruling.FIX_FIRST:
        return finding.hazard not in ADVICE
    by_others = bool(finding.ways(Who.RIDER, Who.WORKSHOP)) and not _left_to_studio(finding, triage)
    return by_others and _open(finding, triage)


def _left_to_studio(finding: Finding, triage: Triage) -> bool:
    """Say whether the studio sees to it: so ruled, or its own preferred remedy for what the session does not hang on."""
    preferred = finding.best is not None and finding.best.remedy.who is Who.STUDIO
    return finding.ruling is Ruling.STUDIO or (preferred and _open(finding, triage) and not _needed(finding, triage))


def _open(finding: Finding, triage: Triage) -> bool:
    likely = finding.probability >= triage.slot.thresholds.unsure_locked or _dangerous(finding)
    return finding.ruling is None and likely and finding.hazard not in ADVICE


def _errand(finding: Finding, *, needed: bool) -> Errand:
    ways = finding.ways(*BEFORE)
    open_ways = [way for way in ways if not way.late]
    return Errand(finding, by=open_ways[0].fix_by if open_ways else None, needed=needed, ways=ways)


def _parcel(what: str, findings: tuple[Finding, ...]) -> Parcel:
    days = [way.fix_by for finding in findings for way in finding.ways(Who.BRING) if not way.late]
    may_fix = all(finding.ruling is None and finding.ways(Who.RIDER, Who.WORKSHOP) for finding in findings)
    return Parcel(findings, what, by=min(days, default=None), unless_fixed=may_fix)


def _dangerous(finding: Finding) -> bool:
    return finding.hazard is Hazard.DO_NOT_RIDE and finding.standing > 0


def _cautions(triage: Triage) -> tuple[str, ...]:
    standing = [finding for finding in triage.findings if finding.standing > 0]
    general = [
        (MECHANIC_FIRST, any(_dangerous(finding) for finding in standing)),
        (PAIN_FIRST, any(_hurts(complaint) for complaint in triage.complaints)),
        (TIGHTEN_AS_PRINTED, bool(standing)),
    ]
    own = [finding.check.caution for finding in standing if finding.check.caution]
    return tuple(dict.fromkeys([text for text, applies in general if applies] + own))


def _hurts(complaint: Complaint) -> bool:
    return complaint.score > 0
