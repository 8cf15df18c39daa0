"""The demo's days: counted on the studio's own calendar, around today."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sessions.models import Studio
from sessions.selectors.closures import closed_within

LONG_DAY = timedelta(hours=8)
REACH = timedelta(days=60)


@dataclass(frozen=True)
class DemoDays:
    """Days on which the studio is open for long, on both sides of now."""

    now: datetime
    ahead: tuple[date, ...]
    behind: tuple[date, ...]

    def day(self, number: int) -> date:
        """Return day 0 for today or the next such day, 1 for the one after it, −1 for the last one before today."""
        return self.ahead[number] if number >= 0 else self.behind[-number - 1]

    def start(self, number: int, clock: time) -> datetime:
        """Return a time on such a day."""
        return datetime.combine(self.day(number), clock, self.now.tzinfo)

    def ago(self, days: int, clock: time) -> datetime:
        """Return a time on the day so many calendar days before today, never later than a few minutes ago."""
        day = self.now.date() - timedelta(days=days)
        return min(datetime.combine(day, clock, self.now.tzinfo), self.now - timedelta(minutes=10))


def demo_days(studio: Studio, now: datetime) -> DemoDays:
    """Return the days of a studio around a moment, which is read in the studio's zone."""
    local = now.astimezone(studio.zone)
    today = local.date()
    days = long_days(studio, today - REACH, today + REACH)
    ahead = tuple(day for day in days if day >= today)
    return DemoDays(local, ahead, tuple(day for day in reversed(days) if day < today))


def long_days(studio: Studio, first: date, last: date) -> list[date]:
    """Return the days, first and last included, on which a studio is open for long."""
    closed, long_weekdays = closed_within(studio, studio.closures.all(), first, last), _long_weekdays(studio)
    spread = (first + timedelta(days=offset) for offset in range((last - first).days + 1))
    return [day for day in spread if day.weekday() in long_weekdays and day not in closed]


def _long_weekdays(studio: Studio) -> set[int]:
    def length(opens: time, closes: time) -> timedelta:
        return datetime.combine(date.min, closes) - datetime.combine(date.min, opens)

    return {each.weekday for each in studio.opening_hours.all() if length(each.opens, each.closes) >= LONG_DAY}
