"""What hurts, beside what could be worth ruling out first."""

from dataclasses import dataclass

from intake.catalogue.schema import Catalogue
from intake.models import Discomfort
from intake.selectors.triage import Told
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.suspects import Suspect
from sessions.selectors.review.given_answers import slug_of
from sessions.selectors.review.words import percent_words


@dataclass(frozen=True)
class SuspectShown:
    """A finding beside a complaint: a possibility, never a cause."""

    title: str
    slug: str
    likelihood: str


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
            suspects=tuple(_shown(each.finding) for each in triage.suspects if _is_about(each, row)),
        )
        for row in rows
    )


def _is_about(suspect: Suspect, row: Discomfort) -> bool:
    return (suspect.complaint.area, suspect.complaint.side) == (row.area, row.side)


def _shown(finding: Finding) -> SuspectShown:
    likelihood = "" if finding.sure else percent_words(100 * finding.probability)
    return SuspectShown(finding.title, slug_of(finding.key), likelihood)
