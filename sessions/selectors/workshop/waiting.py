"""What a workshop could not put right, and where it asks for a new link: both wait for somebody at the desk."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce

from intake.catalogue.schema import Catalogue
from intake.models import FindingDecision, JobLink, JobLinkRequest, RepairReport
from intake.models.repairs import RepairOutcome, RepairSource
from intake.selectors.triage import Told

STANDS_IN_THE_WAY = (RepairOutcome.NEEDS_PART, RepairOutcome.CANNOT)


@dataclass(frozen=True)
class Hindrance:
    """A workshop's report that something waits for a part or cannot be done, and about what."""

    title: str
    report: RepairReport


def hindrances(told: Told, catalogue: Catalogue) -> tuple[Hindrance, ...]:
    """Return the reports of one check that nobody has decided about yet, from rows that were read already."""
    titles = catalogue.titles()
    return tuple(Hindrance(titles.get(report.finding_key, report.finding_key), report) for report in _standing(told))


def _standing(told: Told) -> Iterator[RepairReport]:
    for report in told.repairs.values():
        if report.source == RepairSource.WORKSHOP and report.outcome in STANDS_IN_THE_WAY:
            yield report


def workshop_waits() -> Q:
    """Return what holds of a session, by its ``pre_visit``, whose workshop waits for the desk."""
    return Q(Exists(_undecided().filter(pre_visit=OuterRef("pre_visit")))) | Q(
        Exists(_unanswered().filter(job_sheet__pre_visit=OuterRef("pre_visit")))
    )


def _undecided() -> QuerySet[RepairReport]:
    """Return the latest reports of findings that a workshop could not put right, with no later decision of the studio."""
    same = {"pre_visit": OuterRef("pre_visit"), "finding_key": OuterRef("finding_key")}
    later = RepairReport.objects.filter(pk__gt=OuterRef("pk"), **same)
    decided = FindingDecision.objects.filter(pk__gt=Coalesce(OuterRef("since_decision"), 0), **same)
    found = RepairReport.objects.filter(source=RepairSource.WORKSHOP, outcome__in=STANDS_IN_THE_WAY)
    return found.exclude(Exists(later)).exclude(Exists(decided))


def _unanswered() -> QuerySet[JobLinkRequest]:
    """Return the requests for a new link that none has been made for since."""
    newer = JobLink.objects.filter(job_sheet=OuterRef("job_sheet"), created_at__gt=OuterRef("asked_at"))
    return JobLinkRequest.objects.exclude(Exists(newer))
