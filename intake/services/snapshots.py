"""Keep what the triage says of a session at its three moments: at booking, three days before and on the day."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from intake.models import PreVisitCheck, SnapshotMoment, TriageSnapshot
from intake.models.snapshots import DAYS_BEFORE
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import in_any_week, judge, triage_inputs
from intake.services.triage import lock_checks
from intake.slots import SessionSlot, slot_of, slots_of
from intake.triage.answers import Experience, Slot, TriageInput
from intake.triage.engine import Triage, forecast_alone
from intake.triage.lognormal import Distribution

DIGITS = 9  # Of a probability: a whole distribution stays within a ten-millionth, in half the room.


def due_moments(slot: Slot) -> list[SnapshotMoment]:
    """Return the moments that the session's day has reached, besides the booking."""
    return [moment for moment, days in DAYS_BEFORE.items() if slot.today >= slot.starts_on - timedelta(days=days)]


def keep_snapshot(pre_visit: PreVisitCheck, moment: SnapshotMoment) -> None:
    """Keep what the triage says of one check at this moment, where it was not kept yet."""
    if not TriageSnapshot.objects.filter(pre_visit=pre_visit, moment=moment).exists():
        _keep([pre_visit], lambda _slot: [moment])


def keep_booked(pre_visit: PreVisitCheck) -> None:
    """Keep the moment of the booking, and those that a late booking has reached already."""
    _keep([pre_visit], lambda slot: [SnapshotMoment.BOOKING, *due_moments(slot)])


def keep_due(pre_visits: Sequence[PreVisitCheck]) -> int:
    """Keep the moments that these checks have reached and that were not kept yet; return how many.

    Let them come with their bikes. The number of queries does not depend on how many there are.
    """
    return _keep(pre_visits, due_moments)


def forget_undue(pre_visit: PreVisitCheck) -> None:
    """Forget the moments that a session, moved to a later day, has yet to reach: they are taken again when it does."""
    undue = set(DAYS_BEFORE) - set(due_moments(slot_of(pre_visit.pk).slot))
    TriageSnapshot.objects.filter(pre_visit=pre_visit, moment__in=undue).delete()


def _keep(pre_visits: Sequence[PreVisitCheck], wanted: Callable[[Slot], Collection[SnapshotMoment]]) -> int:
    """Judge these checks and keep the moments wanted of each by its slot, as it is once nobody else can move it."""
    with transaction.atomic(savepoint=False):
        pre_visit_ids = [pre_visit.pk for pre_visit in pre_visits]
        lock_checks(pre_visit_ids)
        slots, kept = slots_of(pre_visit_ids), _kept(pre_visit_ids)
        missing = {pk: set(wanted(slots[pk].slot)) - kept[pk] for pk in pre_visit_ids if pk in slots}
        checks = [pre_visit for pre_visit in pre_visits if missing.get(pre_visit.pk)]
        rows = list(_rows(checks, slots, missing))
        TriageSnapshot.objects.bulk_create(rows, ignore_conflicts=True)
    return len(rows)


def _kept(pre_visit_ids: Sequence[int]) -> dict[int, set[str]]:
    kept: dict[int, set[str]] = {pre_visit_id: set() for pre_visit_id in pre_visit_ids}
    for pre_visit_id, moment in TriageSnapshot.objects.filter(pre_visit_id__in=kept).values_list("pre_visit", "moment"):
        kept[pre_visit_id].add(moment)
    return kept


def _rows(
    checks: Sequence[PreVisitCheck],
    slots: Mapping[int, SessionSlot],
    missing: Mapping[int, Collection[SnapshotMoment]],
) -> Iterator[TriageSnapshot]:
    if not checks:
        return
    for pk, given in triage_inputs(checks, slots, current_catalogue()).items():
        result = judge(given)
        yield from snapshots_of(pk, sorted(missing[pk]), given, result)


def snapshots_of(
    pre_visit_id: int, moments: Iterable[SnapshotMoment], given: TriageInput, result: Triage
) -> list[TriageSnapshot]:
    """Return the rows of moments that are reached at one time, not stored yet."""
    now, lost = timezone.now(), result.forecast
    forecast, prior = _cells(lost.pmf), _prior(given)
    said = {
        "verdict": result.verdict.value,
        "stopped": result.stopped,
        "readiness_pct": lost.readiness_pct,
        "chance_to_plan": lost.chance,
        "expected_bench_min": lost.expected_min,
        "planned_min": given.slot.planned_min,
        "slack_min": given.slot.slack_min,
        "forecast": forecast,
        "prior_forecast": forecast if prior is None else _cells(prior),
        "catalogue_version": given.catalogue.version,
    }
    return [TriageSnapshot(pre_visit_id=pre_visit_id, moment=moment, taken_at=now, **said) for moment in moments]


def _prior(given: TriageInput) -> Distribution | None:
    """Return the forecast by the catalogue alone; None where nothing has been learned, and it is the same."""
    if given.experience == Experience():
        return None
    return in_any_week(forecast_alone, replace(given, experience=Experience())).pmf


def _cells(pmf: Distribution) -> list[float]:
    return [round(share, DIGITS) for share in pmf.tolist()]
