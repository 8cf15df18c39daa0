"""From occasions to mails: one a day at most, each occasion once, never at night."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time

from intake.chasing.occasions import Kind, Occasion, Outlook, occasions, reached

MORNING, EVENING = time(9, 0), time(20, 0)


@dataclass(frozen=True, slots=True)
class Notice:
    """One mail: its day and everything that it is about, what matters most first."""

    day: date
    occasions: tuple[Occasion, ...]

    @property
    def kind(self) -> Kind:
        """What it is about above all."""
        return self.occasions[0].kind

    @property
    def kinds(self) -> frozenset[Kind]:
        """All that it is about."""
        return frozenset(each.kind for each in self.occasions)

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of its occasions, which are over with it."""
        return tuple(each.key for each in self.occasions)


def notice_on(day: date, outlook: Outlook, sent: Collection[str] = ()) -> Notice | None:
    """Return the mail that is due on a local day, None where none is.

    Parameters
    ----------
    day : date
        The studio's local day.
    outlook : Outlook
        The session as it stands.
    sent : collection of str
        Keys of the occasions that were mailed about already.

    Notes
    -----
    What falls on one day becomes one mail. A mail that goes anyway also speaks of the repairs whose word would be due within the
    next two working days, so that three repairs with three deadlines do not make three mails in a row.
    """
    left = [each for each in occasions(outlook) if each.key not in sent and day <= each.until]
    if not any(each.day <= day for each in left):
        return None
    ahead = reached(day, outlook)
    due = [each for each in left if each.day <= day or (each.kind is Kind.FIX_SOON and each.day <= ahead)]
    return Notice(day, tuple(sorted(due, key=lambda each: (list(Kind).index(each.kind), each.key))))


def planned(outlook: Outlook, sent: Collection[str] = ()) -> tuple[Notice, ...]:
    """Return the mails to come, in order, if nothing changes any more.

    Examples
    --------
    >>> from intake.triage.answers import WorkingDays
    >>> weekdays = WorkingDays(frozenset(range(5)))
    >>> outlook = Outlook(date(2026, 3, 20), date(2026, 3, 2), weekdays, lead_days=5, silent=True)
    >>> [(notice.day.isoformat(), notice.kind.value) for notice in planned(outlook)]
    [('2026-03-09', 'chase'), ('2026-03-12', 'chase_again'), ('2026-03-17', 'three_days'), ('2026-03-19', 'one_day')]
    """
    done, notices = set(sent), []
    for day in sorted({each.day for each in occasions(outlook)}):
        notice = notice_on(day, outlook, done)
        if notice is not None:
            notices.append(notice)
            done |= set(notice.keys)
    return tuple(notices)


def is_daytime(local: datetime) -> bool:
    """Say whether a local time is one at which a mail may arrive.

    Examples
    --------
    >>> is_daytime(datetime(2026, 3, 2, 9, 0)), is_daytime(datetime(2026, 3, 2, 20, 0))
    (True, False)
    """
    return MORNING <= local.time() < EVENING
