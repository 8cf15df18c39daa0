"""What hurts, beside what could be worth ruling out first."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from intake.catalogue.schema import Catalogue, Evidence
from intake.models import Discomfort
from intake.selectors.triage import Told
from intake.triage.engine import Triage
from intake.triage.suspects import SideMatch, Suspect
from sessions.selectors.review.given_answers import slug_of
from sessions.selectors.review.words import percent_words

EVIDENCE_LABELS = {
    Evidence.STUDY: _("study"),
    Evidence.CONVENTION: _("clinical convention"),
    Evidence.COMMON_PRACTICE: _("common practice"),
}


@dataclass(frozen=True)
class SuspectShown:
    """A finding beside a complaint: a possibility, never a cause. The fitter sees how strong the evidence is, and its source."""

    title: str
    slug: str
    likelihood: str
    evidence: str
    source: str
    is_other_side: bool


@dataclass(frozen=True)
class ComplaintShown:
    """Discomfort in one place, with the findings that can go with it."""

    discomfort: Discomfort
    area: str
    suspects: tuple[SuspectShown, ...]


def complaints_of(triage: Triage, told: Told, catalogue: Catalogue) -> tuple[ComplaintShown, ...]:
    """Return the complaints, the worst first."""
    labels = {area.key: area.label for area in catalogue.areas}
    rows = sorted((row for row in told.discomforts if row.score > 0), key=lambda row: -row.score)
    return tuple(
        ComplaintShown(
            discomfort=row,
            area=labels.get(row.area, row.area),
            suspects=tuple(_shown(each) for each in triage.suspects if _is_about(each, row)),
        )
        for row in rows
    )


def _is_about(suspect: Suspect, row: Discomfort) -> bool:
    return (suspect.complaint.area, suspect.complaint.side) == (row.area, row.side)


def _shown(suspect: Suspect) -> SuspectShown:
    return SuspectShown(
        title=suspect.title,
        slug=slug_of(suspect.finding.key),
        likelihood="" if suspect.sure else percent_words(100 * suspect.finding.probability),
        evidence=str(EVIDENCE_LABELS[suspect.link.evidence]),
        source=suspect.link.source,
        is_other_side=suspect.match is SideMatch.OTHER,
    )
