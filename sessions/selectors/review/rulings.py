"""Which decisions a finding, or a check without an answer, leaves to a fitter."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from intake.catalogue.schema import Check, Hazard, Who
from intake.models.decisions import RULING_LABELS
from intake.selectors.catalogue import current_catalogue
from intake.triage.answers import Ruling
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.red_flags import ADVICE

BUTTON_LABELS = {
    Ruling.FIX_FIRST: _("Fix first"),
    Ruling.STUDIO: _("Studio does it"),
    Ruling.BRING_PART: _("Bring the part"),
    Ruling.ACCEPT: _("Accept"),
    Ruling.FIXED: _("Fixed"),
    Ruling.NOT_A_FAULT: _("Not a fault"),
}
FLAG_LABELS = {Ruling.FIXED: _("A clinician agrees"), Ruling.NOT_A_FAULT: _("Misunderstood")}
UNKNOWN_LABELS = {
    Ruling.STUDIO: _("We look at it here"),
    Ruling.ACCEPT: _("Go ahead without"),
    Ruling.NOT_A_FAULT: _("Known to be in order"),
}
# The same once they are decided, inside a sentence.
FLAG_WORDS = {Ruling.FIXED: _("a clinician agrees"), Ruling.NOT_A_FAULT: _("misunderstood")}
UNKNOWN_WORDS = {
    Ruling.STUDIO: _("we look at it here"),
    Ruling.ACCEPT: _("go ahead without"),
    Ruling.NOT_A_FAULT: _("known to be in order"),
}


@dataclass(frozen=True)
class Choice:
    """One decision to tap: its ruling, what stands on the button, and whether it is in force."""

    ruling: Ruling
    label: str
    in_force: bool


def offered_rulings(finding: Finding) -> tuple[Ruling, ...]:
    """Return what can be decided about a finding.

    A red flag is lifted only by a clinician's word or because it was misunderstood. A fault that can hurt somebody cannot be
    accepted. The rest follows from who can put it right.
    """
    if finding.hazard in ADVICE:
        return tuple(FLAG_LABELS)
    possible = {
        Ruling.FIX_FIRST: bool(finding.ways(Who.RIDER, Who.WORKSHOP)),
        Ruling.STUDIO: finding.minutes is not None or bool(finding.ways(Who.STUDIO)),
        Ruling.BRING_PART: _helps_to_bring(finding),
        Ruling.ACCEPT: finding.hazard is Hazard.NONE,
    }
    return tuple(ruling for ruling in BUTTON_LABELS if possible.get(ruling, True))


def _helps_to_bring(finding: Finding) -> bool:
    """Say whether a part in the rider's bag helps: what is brought as it is, or what the studio itself can fit.

    Grease for the rider's own work, or a bolt that a workshop needs for its work, does not.
    """
    can_fit = bool(finding.ways(Who.STUDIO)) and any(way.remedy.part for way in finding.ways(Who.WORKSHOP))
    return can_fit or bool(finding.ways(Who.BRING))


def offered_without_answer(check: Check) -> tuple[Ruling, ...]:
    """Return what can be decided about a check that has no answer.

    Whether a clinician comes first only the rider can say, so that nothing is decided in their place. A fault of the bike that could
    hurt somebody is not left open.
    """
    hazards = {fault.hazard for fault in check.faults} - {Hazard.NONE}
    if hazards & ADVICE.keys():
        return ()
    return (Ruling.NOT_A_FAULT,) if hazards else tuple(UNKNOWN_LABELS)


def offered(triage: Triage, key: str) -> tuple[Ruling, ...]:
    """Return what can be decided about a finding or an unanswered check, by its key; KeyError where there is none."""
    for unknown in triage.unknowns:
        if unknown.check.key == key:
            return offered_without_answer(unknown.check)
    return offered_rulings(triage.finding(key))


def ruling_words(key: str, ruling: str) -> str:
    """Return a decision in the words in which it was offered; ``key`` is of a finding, or of a check without an answer."""
    check_key, _dot, fault_key = key.partition(".")
    words = UNKNOWN_WORDS
    if fault_key:
        checks = (check for check in current_catalogue().checks if check.key == check_key)
        hazards = {fault.hazard for check in checks for fault in check.faults if fault.key == fault_key}
        words = FLAG_WORDS if hazards & ADVICE.keys() else {}
    return str({**RULING_LABELS, **words}[Ruling(ruling)])


def finding_choices(finding: Finding) -> tuple[Choice, ...]:
    """Return the buttons of a finding."""
    labels = BUTTON_LABELS | (FLAG_LABELS if finding.hazard in ADVICE else {})
    return _choices(offered_rulings(finding), labels, finding.ruling)


def unknown_choices(check: Check, ruling: Ruling | None) -> tuple[Choice, ...]:
    """Return the buttons of a check without an answer."""
    return _choices(offered_without_answer(check), UNKNOWN_LABELS, ruling)


def _choices(rulings: tuple[Ruling, ...], labels: dict[Ruling, str], in_force: Ruling | None) -> tuple[Choice, ...]:
    return tuple(Choice(ruling, str(labels[ruling]), ruling is in_force) for ruling in rulings)
