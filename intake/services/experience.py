"""Let a closed session teach: what it contributed before is taken away, what it contributes now is added."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from django.db import transaction

from intake.experience.calibration import judge_forecast
from intake.experience.errors import ExperienceError, LostMinutesError
from intake.experience.learning import PriorWeights
from intake.experience.minutes import LogMinutes, lost
from intake.experience.observing import Hindsight, Lesson, lesson
from intake.models import (
    FaultExperience,
    ForecastOutcome,
    LearningWeights,
    MonthlyLoss,
    PreVisitCheck,
    SessionLesson,
    SnapshotMoment,
    TriageSnapshot,
)
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import MONDAY_TO_FRIDAY, input_of, told_of
from intake.slots import SessionSlot, slot_of
from intake.triage.answers import Experience, TriageInput
from intake.triage.errors import NoWorkingDayError

MOST_MINUTES = 32_767  # What a small column holds; a day has 1440.
COUNTED = ["seen", "faults", "times", "mean_log", "squares_log"]
MINUTES_OF = {hindsight: f"{hindsight.value}_min" for hindsight in Hindsight}
MONTHLY = ["times", *MINUTES_OF.values()]


@transaction.atomic
def learn_from(*, pre_visit: PreVisitCheck, lost_min: Mapping[str, int] | None) -> SessionLesson | None:
    """Let a closed session teach, or teach again after a correction; return its lesson.

    ``lost_min`` maps finding keys to the minutes that they took, an empty key to those of anything else; empty where nothing ate time,
    and None where nobody said so: such a session teaches nothing, and what it had taught is taken back. The time that this takes does
    not depend on how many sessions taught before.
    """
    PreVisitCheck.objects.select_for_update().get(pk=pre_visit.pk)
    before = SessionLesson.objects.select_related("outcome").filter(pre_visit=pre_visit).first()
    if lost_min is None:
        return _forget(before)
    session_slot = slot_of(pre_visit.pk)
    now = _lesson_of(pre_visit, session_slot, lost_min)
    _apply(_Change.between(before, now))
    now.outcome = _outcome(pre_visit, session_slot, lost_min, before.outcome if before else None)
    now.pk = before.pk if before else None
    now.save()
    return now


def _forget(before: SessionLesson | None) -> None:
    if before is not None:
        _apply(_Change.between(before, None))
        before.delete()
        if before.outcome is not None:
            before.outcome.delete()


def _lesson_of(pre_visit: PreVisitCheck, session_slot: SessionSlot, lost_min: Mapping[str, int]) -> SessionLesson:
    told = told_of([pre_visit.pk])[pre_visit.pk]
    given = input_of(pre_visit, told, session_slot, current_catalogue(), Experience())
    answered_on = {key: answer.answered_at.astimezone(session_slot.zone).date() for key, answer in told.answers.items()}
    found = _taught(given, {key: minutes for key, minutes in lost_min.items() if key}, answered_on)
    return SessionLesson(
        pre_visit=pre_visit,
        month=session_slot.slot.starts_on.replace(day=1),
        observed={each.key: int(each.there) for each in found.observations},
        losses=[[each.key, each.minutes, each.hindsight.value] for each in found.losses],
    )


def _taught(given: TriageInput, lost_min: Mapping[str, int], answered_on: Mapping[str, date]) -> Lesson:
    try:
        return lesson(given, lost_min, answered_on)
    except NoWorkingDayError:
        weekdays = replace(given.slot, working_days=MONDAY_TO_FRIDAY)
        return lesson(replace(given, slot=weekdays), lost_min, answered_on)


def _outcome(
    pre_visit: PreVisitCheck, session_slot: SessionSlot, lost_min: Mapping[str, int], kept: ForecastOutcome | None
) -> ForecastOutcome | None:
    """Keep the day's forecast held against what happened; None where no forecast of the day was kept, or none that can be judged."""
    snapshot = TriageSnapshot.objects.filter(pre_visit=pre_visit, moment=SnapshotMoment.DAY).first()
    total = min(MOST_MINUTES, sum(minutes for key, minutes in lost_min.items() if key))
    if snapshot is None:
        return kept
    try:
        judged = judge_forecast(snapshot.forecast, snapshot.prior_forecast, total, snapshot.slack_min)
    except ExperienceError:
        return kept
    outcome = ForecastOutcome(
        pk=kept.pk if kept else None,
        month=session_slot.slot.starts_on.replace(day=1),
        verdict=snapshot.verdict,
        planned_min=snapshot.planned_min,
        slack_min=snapshot.slack_min,
        lost_min=total,
        other_min=lost_min.get("", 0),
        pit_low=judged.pit_low,
        pit_high=judged.pit_high,
        crps=judged.crps,
        crps_prior=judged.crps_prior,
        within90=judged.within_band,
        band_chance=judged.band_chance,
        chance=judged.chance,
    )
    outcome.save()
    return outcome


@dataclass
class _Change:
    """What is to be added to the counts: by finding key, and by month and finding key."""

    seen: Counter[str] = field(default_factory=Counter)
    faults: Counter[str] = field(default_factory=Counter)
    gone: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    new: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    monthly: dict[tuple[date, str], Counter[str]] = field(default_factory=lambda: defaultdict(Counter))

    @classmethod
    def between(cls, before: SessionLesson | None, now: SessionLesson | None) -> "_Change":
        """Return what leads from one lesson of a session to the other."""
        change = cls()
        for taught, sign in ((before, -1), (now, 1)):
            if taught is not None:
                change._count(taught, sign)
        return change

    def _count(self, taught: SessionLesson, sign: int) -> None:
        for key, there in taught.observed.items():
            self.seen[key] += sign
            self.faults[key] += sign * there
        for key, minutes, hindsight in taught.losses:
            (self.new if sign > 0 else self.gone)[key].append(minutes)
            counts = self.monthly[taught.month, key]
            counts["times"] += sign
            counts[MINUTES_OF[Hindsight(hindsight)]] += sign * minutes

    def keys(self) -> list[str]:
        """Return the findings whose counts change, in the order in which everybody locks them."""
        changed = {key for key in {*self.gone, *self.new} if sorted(self.gone[key]) != sorted(self.new[key])}
        changed |= {key for key in self.seen if self.seen[key] or self.faults[key]}
        return sorted(changed)


def _apply(change: _Change) -> None:
    """Change the counts. Rows are made, then locked in one order: closings at once neither lose counts nor wait in a ring."""
    keys = change.keys()
    if keys:
        FaultExperience.objects.bulk_create([FaultExperience(finding_key=key) for key in keys], ignore_conflicts=True)
        locked = FaultExperience.objects.select_for_update().filter(finding_key__in=keys).order_by("finding_key")
        rows = [_counted(row, change) for row in locked]
        FaultExperience.objects.bulk_create(
            rows, update_conflicts=True, unique_fields=["finding_key"], update_fields=COUNTED
        )
    _apply_monthly({place: counts for place, counts in sorted(change.monthly.items()) if any(counts.values())})


def _counted(row: FaultExperience, change: _Change) -> FaultExperience:
    key = row.finding_key
    row.seen = max(0, row.seen + change.seen[key])
    row.faults = min(row.seen, max(0, row.faults + change.faults[key]))
    row.minutes = _added(_taken_away(row.minutes, change.gone[key]), change.new[key])
    return row


def _added(minutes: LogMinutes, new: list[float]) -> LogMinutes:
    return sum((lost(each) for each in new), minutes)


def _taken_away(minutes: LogMinutes, gone: list[float]) -> LogMinutes:
    try:
        return minutes - _added(LogMinutes(), gone)
    except LostMinutesError:
        return LogMinutes()


def _apply_monthly(changed: Mapping[tuple[date, str], Counter[str]]) -> None:
    if not changed:
        return
    places = [MonthlyLoss(month=month, finding_key=key) for month, key in changed]
    MonthlyLoss.objects.bulk_create(places, ignore_conflicts=True)
    months, keys = {month for month, _key in changed}, {key for _month, key in changed}
    locked = MonthlyLoss.objects.select_for_update().filter(month__in=months, finding_key__in=keys)
    rows = [row for row in locked.order_by("month", "finding_key") if (row.month, row.finding_key) in changed]
    for row in rows:
        for name, by in changed[row.month, row.finding_key].items():
            setattr(row, name, max(0, getattr(row, name) + int(by)))
    MonthlyLoss.objects.bulk_create(
        rows, update_conflicts=True, unique_fields=["month", "finding_key"], update_fields=MONTHLY
    )


def save_weights(*, weights: PriorWeights) -> None:
    """Keep how much the catalogue's estimates weigh; every later forecast reckons with it."""
    LearningWeights.objects.update_or_create(
        pk=1, defaults={"sessions": int(weights.sessions), "faults": int(weights.faults)}
    )
