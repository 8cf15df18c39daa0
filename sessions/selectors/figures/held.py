"""Sessions that were held, as the plain values that the figures are computed from: the same queries for twenty as for two thousand."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from datetime import date, datetime, time

from django.db.models import Q, QuerySet

from intake.models import FindingDecision, RepairReport, SnapshotMoment, TriageSnapshot
from intake.models.repairs import RepairOutcome
from sessions.diary.states import SessionState
from sessions.figures.put_right import Traces, all_put_right
from sessions.figures.values import ForecastShape, HeldSession, Moment, PutRightBy, shape_of
from sessions.models import FitSession, Service, Studio, TimeLoss

READ_AT_ONCE = 500  # distributions in memory at a time
SESSION = "pre_visit__fit_session"


def held_sessions(*, studio: Studio, first_day: date | None, service: Service | None) -> list[HeldSession]:
    """Return the studio's sessions that are done, since a local day and of one service, the oldest first: six queries."""
    held = Q(studio=studio, state=SessionState.DONE.value)
    if first_day is not None:
        held &= Q(starts_at__gte=datetime.combine(first_day, time.min, studio.zone))
    if service is not None:
        held &= Q(service=service)
    chosen = FitSession.objects.filter(held)
    verdicts, readiness, shapes = _moments(chosen)
    lost, put_right = _lost(chosen), _put_right(chosen)
    rows = chosen.order_by("starts_at", "pk").values_list(
        "pk", "starts_at", "service__name", "planned_min", "slack_min", "fit_record__closed_at"
    )
    return [
        HeldSession(
            session_id=pk,
            day=starts_at.astimezone(studio.zone).date(),
            service=name,
            planned_min=planned_min,
            slack_min=slack_min,
            verdicts=verdicts.get(pk, {}),
            readiness_pct=readiness.get(pk),
            forecast=shapes.get(pk),
            actual_min=sum(lost.get(pk, {}).values()) if closed_at else None,
            put_right=put_right(pk, lost.get(pk, {})),
        )
        for pk, starts_at, name, planned_min, slack_min, closed_at in rows
    ]


def _moments(
    chosen: QuerySet[FitSession],
) -> tuple[dict[int, dict[Moment, str]], dict[int, float], dict[int, ForecastShape]]:
    """Return verdicts at each moment, readiness and forecast of the day, by session."""
    kept = TriageSnapshot.objects.filter(**{f"{SESSION}__in": chosen})
    verdicts: dict[int, dict[Moment, str]] = defaultdict(dict)
    for pk, moment, verdict in kept.values_list(SESSION, "moment", "verdict"):
        verdicts[pk][Moment(moment)] = verdict
    readiness, shapes = {}, {}
    of_day = kept.filter(moment=SnapshotMoment.DAY).order_by()
    columns = of_day.values_list(SESSION, "readiness_pct", "expected_bench_min", "forecast")
    for pk, readiness_pct, mean_min, pmf in columns.iterator(chunk_size=READ_AT_ONCE):
        readiness[pk], shapes[pk] = readiness_pct, shape_of(pmf, mean_min)
    return verdicts, readiness, shapes


def _lost(chosen: QuerySet[FitSession]) -> dict[int, dict[str, int]]:
    """Return the minutes that were noted, by session and finding; under an empty key what no check could have found."""
    rows = TimeLoss.objects.filter(fit_record__fit_session__in=chosen)
    lost: dict[int, dict[str, int]] = defaultdict(dict)
    for pk, key, minutes in rows.values_list("fit_record__fit_session", "finding_key", "minutes"):
        lost[pk][key] = minutes
    return lost


def _put_right(chosen: QuerySet[FitSession]) -> Callable[[int, Mapping[str, int]], dict[str, PutRightBy]]:
    """Return what says of a session, given its lost minutes, who put its findings right."""
    decisions, reports = FindingDecision.objects.order_by("pk"), RepairReport.objects.order_by("pk")
    rulings: dict[int, dict[str, str]] = defaultdict(dict)
    for pk, key, ruling in decisions.filter(**{f"{SESSION}__in": chosen}).values_list(SESSION, "finding_key", "ruling"):
        rulings[pk][key] = ruling
    done_by: dict[int, dict[str, str]] = defaultdict(dict)
    columns = (SESSION, "finding_key", "outcome", "source", "done_by")
    for pk, key, outcome, source, by in reports.filter(**{f"{SESSION}__in": chosen}).values_list(*columns):
        done_by[pk][key] = (by or source) if outcome == RepairOutcome.DONE else ""

    def of(pk: int, lost: Mapping[str, int]) -> dict[str, PutRightBy]:
        ruled, done = rulings.get(pk, {}), done_by.get(pk, {})
        keys = {key for key in (*ruled, *done, *lost) if key}
        return all_put_right(
            {key: Traces(ruled.get(key, ""), done.get(key, ""), lost.get(key, 0)) for key in sorted(keys)}
        )

    return of
