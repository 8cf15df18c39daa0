"""Keep the closing list and what ate time."""

from collections.abc import Mapping

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from sessions.models import FitRecord, SafetyEntry, TimeLoss
from sessions.services.bench.errors import MinutesNotedError
from sessions.services.bench.records import locked_open


@transaction.atomic
def save_safety_line(
    *, record: FitRecord, item: str, changed: Mapping[str, str], by: AbstractBaseUser | None
) -> SafetyEntry:
    """Keep what was said of one line of the closing list: ``state``, ``torque_as_printed``, ``note``, or some of them.

    A new line needs its state. Raises RecordClosedError.
    """
    now = locked_open(record)
    entry, is_new = SafetyEntry.objects.get_or_create(fit_record=now, item=item, defaults={**changed, "entered_by": by})
    if not is_new:
        for name, value in changed.items():
            setattr(entry, name, value)
        entry.entered_by = by
        entry.save()
    return entry


@transaction.atomic
def save_time_loss(*, record: FitRecord, finding_key: str, minutes: int | None, note: str = "") -> None:
    """Keep the minutes that one thing ate, or forget them; ``finding_key`` is empty for anything that no check could find.

    Raises RecordClosedError.
    """
    now = locked_open(record)
    if not minutes:
        now.time_losses.filter(finding_key=finding_key).delete()
        return
    _say_nothing_lost(record, now, said=False)
    TimeLoss.objects.update_or_create(
        fit_record=now, finding_key=finding_key, defaults={"minutes": minutes, "note": note}
    )


@transaction.atomic
def save_nothing_lost(*, record: FitRecord, said: bool) -> None:
    """Keep that nothing ate time, or take that back. Raises RecordClosedError, and MinutesNotedError where minutes are noted."""
    now = locked_open(record)
    if said and now.time_losses.exists():
        raise MinutesNotedError
    _say_nothing_lost(record, now, said=said)


def _say_nothing_lost(record: FitRecord, now: FitRecord, *, said: bool) -> None:
    if now.nothing_lost != said:
        now.nothing_lost = said
        now.save(update_fields=["nothing_lost"])
    record.nothing_lost = said
