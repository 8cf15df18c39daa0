"""What a rider is reminded of before a session, and on which days: early enough that something can still be put right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from intake.triage.answers import WorkingDays
from intake.triage.deadlines import add_working_days, fix_by

ONE_DAY = timedelta(days=1)
FIRST_CHASE_BEFORE = 4  # working days before the longest likely remedy must begin
SECOND_CHASE_BEFORE = 1  # an evening for the check, and the next morning a workshop can begin
BETWEEN_CHASES = timedelta(days=2)
WARN_BEFORE = 2  # working days before a repair must begin
FIRST_REMINDER, LAST_REMINDER = timedelta(days=3), timedelta(days=1)


class Kind(StrEnum):
    """What a reminder is about, what matters most first."""

    ONE_DAY = "one_day"
    THREE_DAYS = "three_days"
    LAST_DAY = "last_day"
    CHASE_AGAIN = "chase_again"
    CHASE = "chase"
    FIX_SOON = "fix_soon"


@dataclass(frozen=True, slots=True)
class Deadline:
    """A repair that is still open: its last day to begin, and whether the session hangs on it or somebody could be hurt."""

    finding: str
    fix_by: date
    pressing: bool


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the reminders of one session depend on.

    Attributes
    ----------
    starts_on : date
        The session's local day.
    known_on : date
        The local day on which its time was mailed last: at booking, or when it was moved. Nothing else goes out on that day.
    working_days : WorkingDays
        The studio's.
    lead_days : int
        Working days that the longest likely remedy takes (`longest_likely_lead`).
    silent : bool
        Whether the check is neither handed in nor answered in full.
    deadlines : tuple of Deadline
        The repairs that are open.
    advised_on : date or None
        The local day on which what to put right was mailed last.
    """

    starts_on: date
    known_on: date
    working_days: WorkingDays
    lead_days: int
    silent: bool
    deadlines: tuple[Deadline, ...] = ()
    advised_on: date | None = None


@dataclass(frozen=True, slots=True)
class Occasion:
    """One reason to write: due from ``day``, of no use after ``until``; its key is the same however often it is computed."""

    key: str
    kind: Kind
    day: date
    until: date
    finding: str = ""


def occasions(outlook: Outlook) -> tuple[Occasion, ...]:
    """Return every occasion for writing to this rider, as things stand, by day.

    Two reminders of the time, three days and one day before [1]_. Before them two requests for the check: the first four working
    days before the longest likely remedy must begin, the second one working day before it; where the booking came later than
    that, on the next mornings that are left. For each repair a word two working days before its last day to begin, and on that
    day itself where the session hangs on it. Nothing falls on the day of the booking, on that of the session, or after it.

    References
    ----------
    .. [1] Steiner et al. 2018, *Am J Manag Care* 24:377–384: fewest were missed with reminders at three days and at one day.
    """
    found = [
        *_reminders(outlook),
        *_chases(outlook),
        *(each for one in outlook.deadlines for each in _repair(one, outlook)),
    ]
    possible = (each for each in found if outlook.known_on < each.day <= each.until < outlook.starts_on)
    return tuple(sorted(possible, key=lambda each: (each.day, list(Kind).index(each.kind), each.key)))


def _reminders(outlook: Outlook) -> list[Occasion]:
    early, late = outlook.starts_on - FIRST_REMINDER, outlook.starts_on - LAST_REMINDER
    return [
        Occasion(Kind.THREE_DAYS, Kind.THREE_DAYS, early, late - ONE_DAY),
        Occasion(Kind.ONE_DAY, Kind.ONE_DAY, late, late),
    ]


def chase_days(outlook: Outlook) -> tuple[date, date]:
    """Return the days of the two requests for the check, whether or not they are still of use.

    Raises
    ------
    LeadTimeError, NoWorkingDayError
    """
    first, second = (_in_time(before, outlook) for before in (FIRST_CHASE_BEFORE, SECOND_CHASE_BEFORE))
    first = max(first, outlook.known_on + ONE_DAY)
    return first, max(second, first + BETWEEN_CHASES)


def _in_time(before: int, outlook: Outlook) -> date:
    """Return the day so many working days before the longest likely remedy must begin."""
    begin_by = fix_by(outlook.starts_on, outlook.lead_days, outlook.working_days)
    return fix_by(begin_by, before, outlook.working_days)


def _chases(outlook: Outlook) -> list[Occasion]:
    if not outlook.silent:
        return []
    first, second = chase_days(outlook)
    last = _next_reminder(outlook) - ONE_DAY  # from then on each reminder asks for the check, too
    # One that comes too late for the longest remedy anyway leaves room for the reminder.
    again_by = last if second <= _in_time(SECOND_CHASE_BEFORE, outlook) else last - BETWEEN_CHASES
    return [
        Occasion(Kind.CHASE, Kind.CHASE, first, min(second - ONE_DAY, last)),
        Occasion(Kind.CHASE_AGAIN, Kind.CHASE_AGAIN, second, again_by),
    ]


def _next_reminder(outlook: Outlook) -> date:
    early = outlook.starts_on - FIRST_REMINDER
    return early if outlook.known_on < early else outlook.starts_on - LAST_REMINDER


def _repair(deadline: Deadline, outlook: Outlook) -> list[Occasion]:
    """Return when to write about one repair; a mail of advice that came after the word was due has said it."""
    last_day = min(deadline.fix_by, outlook.starts_on - ONE_DAY)
    soon = max(fix_by(last_day, WARN_BEFORE, outlook.working_days), outlook.known_on + ONE_DAY)
    name = f"{deadline.finding}:{deadline.fix_by.isoformat()}"
    warn = Occasion(f"{Kind.FIX_SOON}:{name}", Kind.FIX_SOON, soon, last_day - ONE_DAY, deadline.finding)
    at_last = Occasion(f"{Kind.LAST_DAY}:{name}", Kind.LAST_DAY, last_day, last_day, deadline.finding)
    advised_on = outlook.advised_on or date.min
    return [
        *([warn] if advised_on < soon else []),
        *([at_last] if advised_on < last_day and deadline.pressing else []),
    ]


def reached(day: date, outlook: Outlook) -> date:
    """Return how far ahead a mail of this day speaks of repairs, so that it need not be followed by another one tomorrow."""
    return add_working_days(day, WARN_BEFORE, outlook.working_days)
