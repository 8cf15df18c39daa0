"""Which complaints to ask about again, because a fault that may go with them has been put right, and what was said."""

from collections import defaultdict
from dataclasses import dataclass

from intake.edge.words import place_label
from intake.models import ComplaintOutcome, PreVisitCheck
from intake.triage.answers import Complaint, TriageInput
from intake.triage.outcomes import Course, course, went
from intake.triage.suspects import PutRight, put_right


@dataclass(frozen=True)
class AfterRepair:
    """One place that hurt, what was put right beside it since, and the rider's last word on it."""

    complaint: Complaint
    label: str
    repaired: tuple[PutRight, ...]
    last: ComplaintOutcome | None
    is_due: bool

    @property
    def key(self) -> str:
        """Return what names it in an address; areas are in snake_case, so a hyphen parts area and side."""
        return f"{self.complaint.area}-{self.complaint.side}" if self.complaint.side else self.complaint.area

    @property
    def course(self) -> Course | None:
        """Return how it went, None before a ride."""
        if self.last is None or self.last.score_now is None:
            return None
        return course(self.last.score_before, self.last.score_now)

    @property
    def went(self) -> bool:
        """Return whether it has gone or clearly eased."""
        return (
            self.last is not None
            and self.last.score_now is not None
            and went(self.last.score_before, self.last.score_now)
        )


def after_repairs(pre_visit: PreVisitCheck, given: TriageInput) -> tuple[AfterRepair, ...]:
    """Return the complaints beside repairs, the worst first: no query where there are none, else one.

    A place is asked about until the rider has said, after a ride, how it is with everything that was put right beside it.
    """
    beside: dict[Complaint, list[PutRight]] = defaultdict(list)
    for pair in put_right(given):
        beside[pair.complaint].append(pair)
    if not beside:
        return ()
    said: dict[tuple[str, str], list[ComplaintOutcome]] = defaultdict(list)
    for row in ComplaintOutcome.objects.filter(pre_visit=pre_visit).order_by("pk"):
        said[row.area, row.side].append(row)
    labels = {area.key: area.label for area in given.catalogue.areas}
    return tuple(
        _after(complaint, tuple(pairs), said[complaint.area, complaint.side], labels)
        for complaint, pairs in beside.items()
    )


def _after(
    complaint: Complaint, repaired: tuple[PutRight, ...], said: list[ComplaintOutcome], labels: dict[str, str]
) -> AfterRepair:
    keys = {pair.key for pair in repaired}
    about = [row for row in said if row.finding_key in keys]
    asked = keys - {row.finding_key for row in about if row.rode}
    return AfterRepair(
        complaint=complaint,
        label=place_label(labels[complaint.area], complaint.side),
        repaired=repaired,
        last=next(reversed(about), None),
        is_due=bool(asked),
    )


def all_eased(given: TriageInput, after: tuple[AfterRepair, ...]) -> bool:
    """Return whether everything that hurt has gone or clearly eased since repairs."""
    hurting = {complaint for complaint in given.complaints if complaint.score > 0}
    return bool(hurting) and hurting == {each.complaint for each in after if each.went}
