"""Days, shares and people as the desk reads them."""

from datetime import date, timedelta

from django.contrib.auth.models import AbstractBaseUser
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from intake.triage.phrases import percent

ONE_DAY = timedelta(days=1)


def day_words(day: date, today: date) -> str:
    """Return a day as one says it today: today, tomorrow, or its weekday and date, with the year where that is another one.

    >>> from datetime import date
    >>> day_words(date(2026, 12, 3), date(2026, 12, 3)), day_words(date(2026, 12, 3), date(2026, 11, 25))
    ('today', 'Thu 3 Dec')
    """
    if day == today:
        return _("today")
    if day == today + ONE_DAY:
        return _("tomorrow")
    return date_format(day, "D j M" if day.year == today.year else "D j M Y")


def due_words(day: date, today: date) -> str:
    """Return by when a decision is due; a day that has passed is due today.

    >>> from datetime import date
    >>> due_words(date(2026, 12, 1), date(2026, 12, 3))
    'today'
    """
    return day_words(max(day, today), today)


def percent_words(share_pct: float) -> str:
    """Return percent as the reasons of a verdict write them: whole, and never overstated.

    >>> percent_words(64.9)
    '64 %'
    """
    return percent(share_pct / 100)


def staff_words(user: AbstractBaseUser | None, nobody: str = "") -> str:
    """Return the name of the member of staff who did something; ``nobody`` where no account is kept with it."""
    return user.display_name if user is not None else nobody or _("a former colleague")
