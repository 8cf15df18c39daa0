"""Keep what a session holds beside its readings: the rider's body, parts, notes, the next visit, how it feels now."""

from collections.abc import Mapping
from datetime import date

from django.db import transaction

from intake.models import Discomfort
from intake.models.previsit import Phase
from sessions.geometry.body import check_body
from sessions.models import BodyMeasure, ComponentChange, FitRecord, PartToOrder
from sessions.services.bench.errors import RowGoneError, TextConflictError
from sessions.services.bench.records import locked_open


@transaction.atomic
def save_body_measure(*, record: FitRecord, measure: str, value_mm: float | None, as_typed: str = "") -> None:
    """Keep one length of the rider's body [mm], or forget it. Raises RecordClosedError, MeasureError."""
    now = locked_open(record)
    if value_mm is None:
        now.body_measures.filter(measure=measure).delete()
        return
    check_body(measure, value_mm)
    BodyMeasure.objects.update_or_create(
        fit_record=now, measure=measure, defaults={"value_mm": value_mm, "as_typed": as_typed}
    )


@transaction.atomic
def save_notes(*, record: FitRecord, notes: str, seen: str) -> None:
    """Keep the notes for the rider. ``seen`` is the text that this change began from.

    Raises TextConflictError where another device has changed them meanwhile, RecordClosedError.
    """
    now = locked_open(record)
    if now.notes == notes:
        return
    if now.notes != seen:
        raise TextConflictError(now.notes)
    now.notes = notes
    now.save(update_fields=["notes"])


@transaction.atomic
def save_next_visit(*, record: FitRecord, changed: Mapping[str, date | str | None]) -> None:
    """Keep the day of the next visit (``follow_up_on``), its note (``follow_up_note``), or both. Raises RecordClosedError."""
    now = locked_open(record)
    for name, value in changed.items():
        setattr(now, name, value)
    now.save(update_fields=list(changed))


@transaction.atomic
def add_component_change(
    *, record: FitRecord, request_key: str, component: str, was: str, now: str, note: str = ""
) -> ComponentChange:
    """Keep a part that was exchanged or re-set; the same form sent twice keeps it once. Raises RecordClosedError."""
    open_record = locked_open(record)
    change, _is_new = ComponentChange.objects.get_or_create(
        fit_record=open_record,
        request_key=request_key,
        defaults={"component": component, "was": was, "now": now, "note": note},
    )
    return change


@transaction.atomic
def add_part(*, record: FitRecord, request_key: str, part: str, why: str = "") -> PartToOrder:
    """Keep a part that the rider still needs; the same form sent twice keeps it once. Raises RecordClosedError."""
    open_record = locked_open(record)
    kept, _is_new = PartToOrder.objects.get_or_create(
        fit_record=open_record, request_key=request_key, defaults={"part": part, "why": why}
    )
    return kept


@transaction.atomic
def change_row(*, row: ComponentChange | PartToOrder, changed: Mapping[str, str]) -> None:
    """Correct some columns of a part's row. Raises RecordClosedError, RowGoneError."""
    locked_open(row.fit_record)
    if not type(row).objects.filter(pk=row.pk).update(**changed):
        raise RowGoneError
    for name, value in changed.items():
        setattr(row, name, value)


@transaction.atomic
def remove_row(*, row: ComponentChange | PartToOrder) -> None:
    """Take out a row that was entered by mistake. Raises RecordClosedError."""
    locked_open(row.fit_record)
    row.delete()


@transaction.atomic
def save_discomfort_after(*, record: FitRecord, area: str, side: str, score: int | None) -> None:
    """Keep how one place feels after the changes, 0 to 10, or forget it. Raises RecordClosedError."""
    pre_visit = locked_open(record).fit_session.pre_visit
    place = {"pre_visit": pre_visit, "phase": Phase.AFTER, "area": area, "side": side}
    if score is None:
        Discomfort.objects.filter(**place).delete()
        return
    Discomfort.objects.update_or_create(**place, defaults={"score": score})
