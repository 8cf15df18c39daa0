"""Keep what a rider, or the desk for a caller, says: each answer as it is given, until the slot."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from intake.catalogue.schema import BIKE_FACTS, Check
from intake.models import Bike, CheckAnswer, Client, PreVisitCheck
from intake.models.bikes import LIMITS
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import fact_of
from intake.services.triage import refresh_summary
from intake.slots import SessionSlot
from intake.triage.engine import Triage


class CheckClosedError(Exception):
    """The session has begun, or is not going to be held: what was said stays as it is."""


@dataclass(frozen=True)
class Given:
    """What is said about one check; empty takes back what was said before."""

    option: str = ""
    lengths_mm: Mapping[str, float] = field(default_factory=dict)
    note: str = ""

    @property
    def is_empty(self) -> bool:
        """Return whether nothing is said at all."""
        return not (self.option or self.lengths_mm or self.note)


def check_changeable(session_slot: SessionSlot) -> None:
    """Raise CheckClosedError once answers may no longer change."""
    if not session_slot.changeable:
        raise CheckClosedError


def save_answer(
    *,
    pre_visit: PreVisitCheck,
    session_slot: SessionSlot,
    check: Check,
    given: Given,
    by: AbstractBaseUser | None = None,
) -> Triage:
    """Keep an answer under the catalogue's present version, note what it tells about the bike, and judge afresh.

    The same answer sent again changes nothing. Raises CheckClosedError once answers may no longer change.
    """
    return save_answers(pre_visit=pre_visit, session_slot=session_slot, said=[(check, given)], by=by)


@transaction.atomic
def save_answers(
    *,
    pre_visit: PreVisitCheck,
    session_slot: SessionSlot,
    said: Iterable[tuple[Check, Given]],
    by: AbstractBaseUser | None = None,
) -> Triage:
    """Keep several answers as `save_answer` keeps one, and judge once."""
    check_changeable(session_slot)
    for check, given in said:
        _keep(pre_visit, check, given, by)
    return refresh_summary(pre_visit, session_slot=session_slot)


def _keep(pre_visit: PreVisitCheck, check: Check, given: Given, by: AbstractBaseUser | None) -> None:
    rows = CheckAnswer.objects.filter(pre_visit=pre_visit, check_key=check.key)
    before = rows.select_for_update().first()
    if given.is_empty:
        rows.delete()
    elif before is None:
        # Another tap may be first: where the row is there by now, this answer replaces it.
        rows.update_or_create(pre_visit=pre_visit, check_key=check.key, defaults=_values(given, by))
    elif _differs(before, given):
        rows.update(**_values(given, by))
    _teach_bike(pre_visit.bike, check, before, given)


def _differs(row: CheckAnswer, given: Given) -> bool:
    kept = (row.option, row.lengths_mm, row.note, row.catalogue_version)
    return kept != (given.option, dict(given.lengths_mm), given.note, current_catalogue().version)


def _values(given: Given, by: AbstractBaseUser | None) -> dict[str, object]:
    return {
        "option": given.option,
        "lengths_mm": dict(given.lengths_mm),
        "note": given.note,
        "catalogue_version": current_catalogue().version,
        "answered_at": timezone.now(),
        "answered_by": by,
    }


def _teach_bike(bike: Bike, check: Check, before: CheckAnswer | None, given: Given) -> None:
    learned: dict[str, object] = {}
    fact = fact_of(check)
    if given.option in BIKE_FACTS.get(fact, ()):
        learned[fact] = given.option
    elif before is not None and fact and getattr(bike, fact) == before.option:
        learned[fact] = ""
    for key, value_mm in given.lengths_mm.items():
        if f"{check.key}_{key}" in LIMITS:
            learned[f"{check.key}_{key}"] = value_mm
    changed = [name for name, value in learned.items() if getattr(bike, name) != value]
    for name in changed:
        setattr(bike, name, learned[name])
    if changed:
        bike.save(update_fields=changed)


def choose_unit(*, client: Client, unit: str) -> None:
    """Show and read this rider's lengths in another unit from now on."""
    if client.length_unit != unit:
        client.length_unit = unit
        client.save(update_fields=["length_unit"])
