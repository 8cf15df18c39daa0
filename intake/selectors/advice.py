"""What the rider is told, ready for their page and for the mail."""

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from intake.catalogue.schema import Catalogue, Check, Freedom, Hazard, Who
from intake.edge.money import cost_words
from intake.edge.words import WHO_LABELS, place_label
from intake.models.previsit import SEVERE_FROM
from intake.triage.advice import Errand, RiderAdvice, what_to_do
from intake.triage.answers import Complaint
from intake.triage.deadlines import DatedRemedy
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.locked import ADJUSTMENT_WORDS
from intake.triage.red_flags import RedFlag
from intake.triage.suspects import Suspect
from intake.triage.terms import StudioTerms


@dataclass(frozen=True)
class Way:
    """One way to put something right: by whom, how, and by which day it must begin."""

    who: str
    title: str
    detail: str
    part: str
    by: date
    late: bool
    cost: str


@dataclass(frozen=True)
class Task:
    """Something to put right before the session; ``key`` names its finding, ``gains`` is what it is good for."""

    key: str
    title: str
    text: str
    sure: bool
    needed: bool
    dangerous: bool
    by: date | None
    ways: tuple[Way, ...]
    gains: tuple[str, ...]

    @property
    def in_time(self) -> tuple[Way, ...]:
        """Return the ways that are still open."""
        return tuple(way for way in self.ways if not way.late)


@dataclass(frozen=True)
class Hint:
    """A place that hurts, beside what was found and can go with it: a possibility, never a cause."""

    where: str
    score: int
    found: tuple[Suspect, ...]


@dataclass(frozen=True)
class Advice:
    """The core's advice with what a page adds: each red flag's own words, and the open checks to link to."""

    told: RiderAdvice
    flags: tuple[RedFlag, ...]
    tasks: tuple[Task, ...]
    open_checks: tuple[Check, ...]
    could_not: tuple[Check, ...]
    hints: tuple[Hint, ...]
    severe: bool

    @property
    def emergency(self) -> bool:
        """Return whether somebody needs help today."""
        return any(flag.hazard is Hazard.EMERGENCY for flag in self.flags)

    @property
    def nothing_to_do(self) -> bool:
        """Return whether all that is known is in order."""
        told = self.told
        return not (self.flags or self.severe or told.do_not_ride or self.tasks or told.bring or told.at_studio)

    @property
    def is_ready(self) -> bool:
        """Return whether all is known, and in order."""
        return self.nothing_to_do and not self.open_checks and not self.could_not


def advice_of(triage: Triage, catalogue: Catalogue) -> Advice:
    """Return what the rider of this triage is told."""
    told = what_to_do(triage)
    return Advice(
        told=told,
        flags=triage.red_flags,
        tasks=tuple(_task(errand, triage.slot.terms) for errand in told.before),
        open_checks=tuple(unknown.check for unknown in triage.unknowns if not unknown.could_not),
        could_not=tuple(unknown.check for unknown in triage.unknowns if unknown.could_not),
        hints=_hints(triage, catalogue),
        severe=any(complaint.score >= SEVERE_FROM for complaint in triage.complaints),
    )


def _hints(triage: Triage, catalogue: Catalogue) -> tuple[Hint, ...]:
    labels = {area.key: area.label for area in catalogue.areas}
    found: dict[Complaint, list[Suspect]] = {}
    for suspect in triage.suspects:
        found.setdefault(suspect.complaint, []).append(suspect)
    return tuple(
        Hint(place_label(labels[complaint.area], complaint.side), complaint.score, tuple(beside))
        for complaint, beside in found.items()
    )


def _task(errand: Errand, terms: StudioTerms) -> Task:
    finding = errand.finding
    return Task(
        key=finding.key,
        title=finding.title,
        text=finding.fault.rider_text,
        sure=finding.sure,
        needed=errand.needed,
        dangerous=finding.hazard is Hazard.DO_NOT_RIDE,
        by=errand.by,
        ways=tuple(_way(way, terms) for way in errand.ways),
        gains=tuple(_gains(finding)),
    )


def _gains(finding: Finding) -> list[str]:
    """Return what the session gains from a finding put right, in the rider's words."""
    held = [ADJUSTMENT_WORDS[each] for each, freedom in finding.effects.items() if freedom is not Freedom.FREE]
    gains = [_("these can be set: %(what)s") % {"what": ", ".join(held)}] if held and finding.holding else []
    if finding.fault.unreliable:
        gains.append(_("what is measured is true"))
    if minutes := round(finding.expected_min):
        gains.append(
            ngettext("about %(n)d minute more for the fitting", "about %(n)d minutes more for the fitting", minutes)
            % {"n": minutes}
        )
    return gains


def _way(way: DatedRemedy, terms: StudioTerms) -> Way:
    remedy = way.remedy
    part = "" if remedy.who is Who.BRING else remedy.part
    return Way(
        str(WHO_LABELS[remedy.who]), remedy.title, remedy.detail, part, way.fix_by, way.late, cost_words(remedy, terms)
    )
