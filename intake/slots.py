"""What the intake may know of a session, and how it asks without importing the diary."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils.module_loading import import_string

from intake.triage.answers import Slot


@dataclass(frozen=True)
class SessionSlot:
    """A session as plain values: the triage's slot, and what the rider's pages say about it.

    ``changeable`` is whether the rider's answers may still change.
    """

    slot: Slot
    starts_at: datetime
    zone: ZoneInfo
    service: str
    studio: str
    studio_email: str
    studio_phone: str
    changeable: bool


class NoSlotError(LookupError):
    """A check that belongs to no session."""


def slots_of(pre_visit_ids: Sequence[int]) -> dict[int, SessionSlot]:
    """Return the sessions of these checks by check id, in a number of queries that does not depend on how many."""
    source: Callable[[Sequence[int]], dict[int, SessionSlot]] = import_string(settings.INTAKE_SLOT_SOURCE)
    return source(pre_visit_ids)


def slot_of(pre_visit_id: int) -> SessionSlot:
    """Return the session of one check; NoSlotError where there is none."""
    try:
        return slots_of([pre_visit_id])[pre_visit_id]
    except KeyError:
        raise NoSlotError(pre_visit_id) from None
