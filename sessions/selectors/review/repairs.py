"""What riders and workshops report as put right, for the studio to confirm."""

from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, Concat, StrIndex

from intake.catalogue.schema import Catalogue
from intake.models import CheckAnswer, FindingDecision, RepairReport
from intake.models.repairs import RepairOutcome
from intake.selectors.repairs import lifts
from intake.selectors.triage import Told
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from sessions.selectors.review.given_answers import slug_of


@dataclass(frozen=True)
class RepairShown:
    """A report that waits for the studio's word; ``counts`` is whether the triage believes it meanwhile."""

    finding: Finding
    report: RepairReport
    counts: bool

    @property
    def slug(self) -> str:
        """Return the finding's key as part of an id."""
        return slug_of(self.finding.key)


def repairs_to_confirm(triage: Triage, told: Told, catalogue: Catalogue) -> tuple[RepairShown, ...]:
    """Return what is reported done and not decided on since, in the order of the findings."""
    return tuple(
        RepairShown(finding, report, lifts(report, catalogue))
        for finding in triage.findings
        if (report := told.repairs.get(finding.key)) is not None and report.outcome == RepairOutcome.DONE
    )


def repairs_waiting() -> Coalesce:
    """Return, as a column for a list of sessions, how many findings are reported done and not confirmed."""
    same = {"pre_visit": OuterRef("pre_visit"), "finding_key": OuterRef("finding_key")}
    later_report = RepairReport.objects.filter(**same, pk__gt=OuterRef("pk"))
    later_ruling = FindingDecision.objects.filter(**same, pk__gt=Coalesce(OuterRef("since_decision"), 0))
    newer = CheckAnswer.objects.filter(pre_visit=OuterRef("pre_visit"), answered_at__gt=OuterRef("reported_at"))
    answered_again = newer.annotate(place=StrIndex(OuterRef("finding_key"), Concat("check_key", Value(".")))).filter(
        place=1
    )
    waiting: QuerySet[RepairReport] = RepairReport.objects.filter(
        ~Exists(later_report),
        ~Exists(later_ruling),
        ~Exists(answered_again),
        pre_visit=OuterRef("pre_visit"),
        outcome=RepairOutcome.DONE,
    )
    counted = waiting.order_by().values("pre_visit").annotate(number=Count("pk")).values("number")
    return Coalesce(Subquery(counted), 0)
