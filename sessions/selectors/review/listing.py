"""The desk's review list: coming sessions, ordered by what needs a decision soonest."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from django.db.models import (
    BooleanField,
    Case,
    Count,
    Exists,
    ExpressionWrapper,
    F,
    IntegerField,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Value,
    When,
)
from django.utils import timezone
from django.utils.translation import gettext as _

from intake.models import ComplaintOutcome, PreVisitCheck, TriageSummary
from intake.selectors.catalogue import current_catalogue
from intake.triage.outcomes import LEAST_FALL, LEAST_FALL_SHARE
from intake.triage.verdict import Verdict
from sessions.diary.states import COMING
from sessions.models import FitSession, SlotDecision, Studio
from sessions.selectors.review.repairs import repairs_waiting
from sessions.selectors.review.words import due_words, percent_words
from sessions.selectors.workshop.waiting import workshop_waits

SUMMARY = "pre_visit__summary"
IS_DUE = Q(**{f"{SUMMARY}__decision_due_on__isnull": False}) | Q(workshop_waits=True)
PAGE_LENGTH = 25


@dataclass(frozen=True)
class ReviewRow:
    """One session of the list, with what the triage last said of it and what was last decided about its slot."""

    fit_session: FitSession
    summary: TriageSummary | None
    last_decision: SlotDecision | None
    today: date

    @property
    def due_on(self) -> date | None:
        """Return the day by which somebody must decide; one that has passed is today."""
        if self.fit_session.workshop_waits:
            return self.today
        due_on = self.summary.decision_due_on if self.summary else None
        return max(due_on, self.today) if due_on else None

    @property
    def readiness(self) -> str:
        """Return the readiness in whole percent."""
        return percent_words(self.summary.readiness_pct)

    @property
    def chance(self) -> str:
        """Return the chance to run to plan in whole percent."""
        return percent_words(100 * self.summary.chance_to_plan)


@dataclass(frozen=True)
class DueGroup:
    """The sessions for which a decision is due on one day, or for which none is."""

    words: str
    is_today: bool
    rows: tuple[ReviewRow, ...]


def coming_sessions(now: datetime) -> QuerySet[FitSession]:
    """Return the sessions that are still to be held."""
    return FitSession.objects.filter(state__in=COMING, ends_at__gt=now)


def _with_workshop(now: datetime) -> QuerySet[FitSession]:
    """Return coming sessions, each with whether a workshop ``workshop_waits`` for the desk."""
    return coming_sessions(now).annotate(workshop_waits=ExpressionWrapper(workshop_waits(), BooleanField()))


def review_sessions(now: datetime, *, due_only: bool = False, verdict: str = "") -> QuerySet[FitSession]:
    """Return coming sessions: what needs a decision soonest, stops by red flags, graver verdicts, earlier starts first."""
    found = _with_workshop(now).annotate(weight=_weight(), repairs_waiting=repairs_waiting(), has_eased=_has_eased())
    if due_only:
        found = found.filter(IS_DUE)
    if verdict:
        found = found.filter(**{f"{SUMMARY}__verdict": verdict})
    decided = Prefetch("slot_decisions", SlotDecision.objects.order_by("pk"), to_attr="decisions_on_slot")
    return (
        found.select_related("client", "bike", "service", "studio", SUMMARY)
        .prefetch_related(decided)
        .order_by(
            F("workshop_waits").desc(),
            F(f"{SUMMARY}__decision_due_on").asc(nulls_last=True),
            F(f"{SUMMARY}__stopped").desc(nulls_last=True),
            "-weight",
            "starts_at",
            "pk",
        )
    )


def _has_eased() -> Exists:
    """Return whether the rider's last word on some complaint is that it went after a repair; the rule is that of `outcomes.went`."""
    later = ComplaintOutcome.objects.filter(
        pre_visit=OuterRef("pre_visit"), area=OuterRef("area"), side=OuterRef("side"), rode=True, pk__gt=OuterRef("pk")
    )
    fell = Q(score_now__lte=F("score_before") - LEAST_FALL) | Q(
        score_now__lte=F("score_before") * (1 - LEAST_FALL_SHARE)
    )
    said = ComplaintOutcome.objects.filter(pre_visit=OuterRef("pre_visit_id"), rode=True)
    return Exists(said.filter(fell | Q(score_now=0)).filter(~Exists(later)))


def _weight() -> Case:
    weights = [When(**{f"{SUMMARY}__verdict": verdict.value}, then=Value(verdict.weight)) for verdict in Verdict]
    return Case(*weights, default=Value(-1), output_field=IntegerField())


def review_counts(now: datetime, *, due_only: bool = False) -> dict[str, int]:
    """Return how many sessions are coming, how many need a decision, and how many of those shown have each verdict."""
    shown = IS_DUE if due_only else Q()
    verdicts = {
        verdict.value: Count("pk", filter=shown & Q(**{f"{SUMMARY}__verdict": verdict.value})) for verdict in Verdict
    }
    return _with_workshop(now).aggregate(all=Count("pk"), due=Count("pk", filter=IS_DUE), **verdicts)


def review_rows(fit_sessions: Iterable[FitSession], now: datetime) -> list[ReviewRow]:
    """Return what the list shows of sessions from `review_sessions`."""
    return [
        ReviewRow(
            fit_session=fit_session,
            summary=getattr(fit_session.pre_visit, "summary", None),
            last_decision=next(reversed(fit_session.decisions_on_slot), None),
            today=now.astimezone(fit_session.studio.zone).date(),
        )
        for fit_session in fit_sessions
    ]


def due_groups(rows: Iterable[ReviewRow]) -> list[DueGroup]:
    """Return the rows, in their order, under the day on which a decision is due."""
    return [_group(due_on, tuple(of_day)) for due_on, of_day in groupby(rows, key=lambda row: row.due_on)]


def _group(due_on: date | None, rows: tuple[ReviewRow, ...]) -> DueGroup:
    if due_on is None:
        return DueGroup(_("Nothing to decide"), is_today=False, rows=rows)
    today = rows[0].today
    words = due_words(due_on, today)
    if due_on == today:
        return DueGroup(_("Decide today"), is_today=True, rows=rows)
    return DueGroup(_("Decide by %(day)s") % {"day": words}, is_today=False, rows=rows)


def stale_checks(limit: int) -> list[PreVisitCheck]:
    """Return the checks of coming sessions that were not judged today by the present catalogue, the soonest first: two queries.

    A day that passes can close a remedy, and with it change verdict and due date, without anybody doing anything.
    """
    now = timezone.now()
    judged = Q(summary__catalogue_version=current_catalogue().version)
    stale = Q(summary__isnull=True) | ~judged
    for studio in Studio.objects.only("time_zone"):
        today = now.astimezone(studio.zone).date()
        stale |= Q(fit_session__studio=studio.pk, summary__computed_on__lt=today)
    coming = PreVisitCheck.objects.filter(fit_session__state__in=COMING, fit_session__ends_at__gt=now)
    return list(coming.filter(stale).select_related("bike").order_by("fit_session__starts_at", "pk")[:limit])
