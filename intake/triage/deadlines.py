"""By when a remedy must start, in a studio's working days, and by when what needs it can be ready."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from intake.catalogue.schema import Remedy
from intake.triage.answers import Slot, WorkingDays
from intake.triage.errors import LeadTimeError, NoWorkingDayError

SEARCHED_DAYS = 3660
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class DatedRemedy:
    """A remedy with its last day to start, and the first day for the session if it starts today."""

    remedy: Remedy
    fix_by: date
    late: bool
    first_ready_on: date


def is_working_day(day: date, working_days: WorkingDays) -> bool:
    """Say whether the studio works on this day."""
    return day.weekday() in working_days.open_weekdays and day not in working_days.closed


def fix_by(starts_on: date, lead_days: int, working_days: WorkingDays) -> date:
    """Return the last working day on which a remedy can start and still be done before the slot's day.

    Parameters
    ----------
    starts_on : date
        The slot's local day; it need not be a working day.
    lead_days : int
        Working days from start to finish, the first included. Something that takes no working day (a thing to pack) has until
        the slot's own day.
    working_days : WorkingDays
        The studio's open weekdays less its closed dates.

    Raises
    ------
    LeadTimeError, NoWorkingDayError

    Examples
    --------
    >>> mondays_to_fridays = WorkingDays(frozenset(range(5)))
    >>> fix_by(date(2026, 3, 9), 1, mondays_to_fridays)
    datetime.date(2026, 3, 6)
    """
    return _counted(starts_on, lead_days, -ONE_DAY, working_days)


def add_working_days(day: date, lead_days: int, working_days: WorkingDays) -> date:
    """Return the first working day by which a remedy that starts on or after ``day`` is done.

    It is the earliest day that a session needing the remedy could be moved to.

    Raises
    ------
    LeadTimeError, NoWorkingDayError

    Examples
    --------
    >>> mondays_to_fridays = WorkingDays(frozenset(range(5)))
    >>> add_working_days(date(2026, 3, 7), 1, mondays_to_fridays)
    datetime.date(2026, 3, 10)
    """
    start = day if is_working_day(day, working_days) else _counted(day, 1, ONE_DAY, working_days)
    return _counted(start, lead_days, ONE_DAY, working_days)


def _counted(day: date, lead_days: int, step: timedelta, working_days: WorkingDays) -> date:
    if lead_days < 0:
        raise LeadTimeError(lead_days)
    left, searched = lead_days, 0
    while left:
        day, searched = _next(day, step, searched)
        left -= is_working_day(day, working_days)
    return day


def _next(day: date, step: timedelta, searched: int) -> tuple[date, int]:
    try:
        following = day + step
    except OverflowError:
        raise NoWorkingDayError(searched) from None
    if searched >= SEARCHED_DAYS:
        raise NoWorkingDayError(SEARCHED_DAYS)
    return following, searched + 1


def dated_remedies(remedies: Mapping[str, Remedy], slot: Slot) -> dict[str, DatedRemedy]:
    """Return every remedy, as the studio knows it, with its fix-by for this slot."""
    known = {key: slot.terms.of(remedy) for key, remedy in remedies.items()}
    by_lead = {remedy.lead_days: _dates(remedy.lead_days, slot) for remedy in known.values()}
    return {
        key: DatedRemedy(remedy, by, late=by < slot.today, first_ready_on=ready)
        for key, remedy in known.items()
        for by, ready in [by_lead[remedy.lead_days]]
    }


def _dates(lead_days: int, slot: Slot) -> tuple[date, date]:
    return (
        fix_by(slot.starts_on, lead_days, slot.working_days),
        add_working_days(slot.today, lead_days, slot.working_days),
    )
