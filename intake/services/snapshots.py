"""Keep what the triage says of a session at its three moments: at booking, three days before and on the day."""

from collections.abc import Iterable
from dataclasses import replace

from django.utils import timezone

from intake.catalogue.loader import load_catalogue
from intake.models import PreVisitCheck, TriageSnapshot
from intake.models.snapshots import SnapshotMoment
from intake.selectors.triage import judge, triage_input
from intake.slots import SessionSlot, slot_of
from intake.triage.answers import Experience, TriageInput
from intake.triage.engine import Triage
from intake.triage.forecast import Distribution

DIGITS = 9  # Of a probability: the whole distribution stays within a ten-millionth, in half the room.


def keep_snapshot(
    pre_visit: PreVisitCheck, moment: SnapshotMoment, *, session_slot: SessionSlot | None = None
) -> TriageSnapshot | None:
    """Keep what the triage says of one check at this moment, once; None where the moment was kept already."""
    if TriageSnapshot.objects.filter(pre_visit=pre_visit, moment=moment).exists():
        return None
    given = triage_input(pre_visit, session_slot or slot_of(pre_visit.pk), load_catalogue())
    store_snapshots([snapshot(pre_visit.pk, moment, given, judge(given))])
    return TriageSnapshot.objects.get(pre_visit=pre_visit, moment=moment)


def snapshot(pre_visit_id: int, moment: SnapshotMoment, given: TriageInput, result: Triage) -> TriageSnapshot:
    """Return a moment's row, not stored yet."""
    return TriageSnapshot(
        pre_visit_id=pre_visit_id,
        moment=moment,
        verdict=result.verdict.value,
        stopped=result.stopped,
        readiness_pct=result.forecast.readiness_pct,
        chance_to_plan=result.forecast.chance,
        expected_bench_min=result.forecast.expected_min,
        planned_min=given.slot.planned_min,
        slack_min=given.slot.slack_min,
        forecast=_cells(result.forecast.pmf),
        prior_forecast=_cells(_prior(given, result)),
        catalogue_version=given.catalogue.version,
        taken_at=timezone.now(),
    )


def _prior(given: TriageInput, result: Triage) -> Distribution:
    """Return the forecast by the catalogue alone; the same where nothing has been learned."""
    if given.experience == Experience():
        return result.forecast.pmf
    return judge(replace(given, experience=Experience())).forecast.pmf


def _cells(pmf: Distribution) -> list[float]:
    return [round(share, DIGITS) for share in pmf.tolist()]


def store_snapshots(snapshots: Iterable[TriageSnapshot]) -> None:
    """Store those whose moment was not kept yet; of two workers at once, the first one's stay."""
    TriageSnapshot.objects.bulk_create(snapshots, ignore_conflicts=True)
