"""The first page at the bench: what the triage said in one line, what hurts, and how far the record is."""

from collections import Counter
from dataclasses import dataclass

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from intake.models.previsit import Phase
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import input_of, judge, told_of
from intake.slots import slot_of
from intake.triage.engine import Triage
from sessions.models import FitRecord, FitSession
from sessions.selectors.bench.records import Bench
from sessions.selectors.review.complaints import ComplaintShown, complaints_of
from sessions.selectors.review.locked_map import MapRow, locked_map_of

STEP_LABELS = {
    "body": gettext_lazy("Body"),
    "before": gettext_lazy("Position before"),
    "changes": gettext_lazy("Changes"),
    "after": gettext_lazy("Position after"),
    "closing": gettext_lazy("Closing"),
}


@dataclass(frozen=True)
class TriageLine:
    """What was found before the session, as far as it matters with the bike on the stand."""

    triage: Triage
    held: tuple[MapRow, ...]
    complaints: tuple[ComplaintShown, ...]

    @property
    def reason(self) -> str:
        """Return the gravest reason for the verdict."""
        return self.triage.reasons[0].text


@dataclass(frozen=True)
class Step:
    """One page of the bench, with what it holds so far."""

    key: str
    label: str | Promise
    url: str
    words: str = ""
    is_done: bool = False


def triage_line(fit_session: FitSession) -> TriageLine:
    """Judge the session afresh: six queries."""
    pre_visit, catalogue = fit_session.pre_visit, current_catalogue()
    pre_visit.bike = fit_session.bike
    told = told_of([pre_visit.pk])[pre_visit.pk]
    triage = judge(input_of(pre_visit, told, slot_of(pre_visit.pk), catalogue))
    rows = locked_map_of(triage, fit_session.bike).rows
    held = tuple(row for row in rows if row.mark != "free" or row.possibly)
    return TriageLine(triage, held, complaints_of(triage, told, catalogue))


def step_url(key: str, pk: int) -> str:
    """Return the address of a step."""
    if key in Phase.values:
        return reverse("bench:position", args=[pk, key])
    return reverse(f"bench:{key}", args=[pk])


def plain_steps(fit_session: FitSession) -> list[Step]:
    """Return the steps to go between, without looking at what they hold."""
    return [Step(key, label, step_url(key, fit_session.pk)) for key, label in STEP_LABELS.items()]


def steps_of(bench: Bench) -> list[Step]:
    """Return the steps with what each holds so far: four queries."""
    words = _words(bench.record) if bench.record else {}
    return [
        Step(key, label, step_url(key, bench.fit_session.pk), words.get(key, ""), bool(words.get(key)))
        for key, label in STEP_LABELS.items()
    ]


def _words(record: FitRecord) -> dict[str, str]:
    readings = Counter(record.readings.filter(replaced_at__isnull=True).values_list("phase", flat=True))
    measures, changes = record.body_measures.count(), record.component_changes.count()
    settled = record.safety_entries.count()
    words = {phase: _counted_readings(readings[phase]) for phase in Phase.values}
    words["body"] = ngettext("%(n)d measure", "%(n)d measures", measures) % {"n": measures} if measures else ""
    words["changes"] = ngettext("%(n)d part", "%(n)d parts", changes) % {"n": changes} if changes else ""
    words["closing"] = _("closed") if record.closed_at else ""
    if settled and not record.closed_at:
        words["closing"] = ngettext("%(n)d line looked at", "%(n)d lines looked at", settled) % {"n": settled}
    return words


def _counted_readings(count: int) -> str:
    return ngettext("%(n)d reading", "%(n)d readings", count) % {"n": count} if count else ""
