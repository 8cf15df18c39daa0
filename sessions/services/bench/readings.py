"""Keep readings: a correction adds a row and retires the old one, and the solved positions follow."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from intake.models.previsit import Phase
from sessions.models import FitRecord, Reading, SolvedPosition
from sessions.quantities import quantity
from sessions.selectors.bench.positions import UNCHANGED, InForce, Positions, positions_of
from sessions.services.bench.records import locked_open
from sessions.tape.readings import Instrument


@dataclass(frozen=True)
class Taken:
    """A reading as it was taken. ``value`` and ``sigma`` are in millimetres or degrees."""

    value: float
    sigma: float
    instrument: str
    as_typed: str


class Without(Enum):
    """What may be said in place of a reading."""

    CLEARED = "cleared"  # there is none after all
    UNCHANGED = "unchanged"  # after the changes: this was not touched, so the reading before still holds


Given = Taken | Without


@dataclass(frozen=True)
class _Step:
    """One quantity of one phase, as it was and as it shall be; None for no reading."""

    phase: str
    key: str
    was: Reading | None
    shall: Taken | None


@transaction.atomic
def save_readings(
    *, record: FitRecord, phase: str, given: Mapping[str, Given], by: AbstractBaseUser | None
) -> Positions:
    """Keep what was said of some quantities in one phase, and return both positions as they are now.

    A row is added only where value, uncertainty or instrument differ from the reading in force. What was said to be unchanged
    afterwards follows a correction of the reading before. Raises RecordClosedError, and a MeasureError where a reading cannot be.
    """
    now = locked_open(record)
    rows = positions_of(now).rows
    steps = [step for key, said in given.items() for step in _steps(rows, phase, key, said)]
    changed = [step for step in steps if _differs(step)]
    _replace(now, changed, by)
    positions = positions_of(now)
    for each in {step.phase for step in changed}:
        _store_position(now, each, positions)
    return positions


def _steps(rows: InForce, phase: str, key: str, said: Given) -> Iterator[_Step]:
    shall = _shall(rows, phase, key, said)
    if said is Without.UNCHANGED and shall is None:
        return
    yield _Step(phase, key, rows[phase].get(key), shall)
    after = rows[Phase.AFTER].get(key)
    if phase == Phase.BEFORE and after is not None and after.instrument == UNCHANGED:
        yield _Step(Phase.AFTER, key, after, _as_unchanged(shall))


def _shall(rows: InForce, phase: str, key: str, said: Given) -> Taken | None:
    if isinstance(said, Taken):
        quantity(key).reading(said.value, sigma=said.sigma, instrument=Instrument(said.instrument))
        return said
    before = rows[Phase.BEFORE].get(key)
    if said is Without.UNCHANGED and phase == Phase.AFTER and before is not None:
        return Taken(before.value, before.sigma, UNCHANGED, before.as_typed)
    return None


def _as_unchanged(taken: Taken | None) -> Taken | None:
    return taken and Taken(taken.value, taken.sigma, UNCHANGED, taken.as_typed)


def _differs(step: _Step) -> bool:
    if step.was is None or step.shall is None:
        return step.was is not step.shall
    kept = (step.was.value, step.was.sigma, step.was.instrument)
    return kept != (step.shall.value, step.shall.sigma, step.shall.instrument)


def _replace(record: FitRecord, steps: Collection[_Step], by: AbstractBaseUser | None) -> None:
    old = [step.was.pk for step in steps if step.was is not None]
    if old:
        Reading.objects.filter(pk__in=old).update(replaced_at=timezone.now())
    Reading.objects.bulk_create(
        Reading(
            fit_record=record,
            phase=step.phase,
            quantity=step.key,
            value=step.shall.value,
            sigma=step.shall.sigma,
            instrument=step.shall.instrument,
            as_typed=step.shall.as_typed,
            taken_by=by,
        )
        for step in steps
        if step.shall is not None
    )


def _store_position(record: FitRecord, phase: str, positions: Positions) -> None:
    position = positions.of(phase).position
    if position is None:
        SolvedPosition.objects.filter(fit_record=record, phase=phase).delete()
        return
    points = position.to_plain()
    covariance = points.pop("covariance_mm2")
    SolvedPosition.objects.update_or_create(
        fit_record=record, phase=phase, defaults={"points": points, "covariance": covariance}
    )


@transaction.atomic
def set_pitch(*, record: FitRecord, pitch_deg: float) -> Positions:
    """Keep how the bike stood on the trainer, and turn both positions back by it. Raises RecordClosedError."""
    now = locked_open(record)
    if now.pitch_deg != pitch_deg:
        now.pitch_deg = pitch_deg
        now.save(update_fields=["pitch_deg"])
        record.pitch_deg = pitch_deg
        positions = positions_of(now)
        for phase in Phase.values:
            _store_position(now, phase, positions)
        return positions
    return positions_of(now)
