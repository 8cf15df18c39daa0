"""Days on which a studio is closed: its own closures, and the public holidays where it is."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from functools import lru_cache

import holidays

from sessions.models import Closure, Studio


def public_holidays(studio: Studio, years: Iterable[int]) -> frozenset[date]:
    """Return the public holidays of the studio's country and region; none where the country is not known."""
    return frozenset().union(*(_holidays_in(studio.country, studio.region, year) for year in years))


@lru_cache(maxsize=512)
def _holidays_in(country: str, region: str, year: int) -> frozenset[date]:
    try:
        return frozenset(holidays.country_holidays(country, subdiv=region or None, years=year))
    except NotImplementedError:
        return frozenset()


def closed_within(studio: Studio, closures: Iterable[Closure], first_day: date, last_day: date) -> frozenset[date]:
    """Return the closed days from one day to another, both included, however long a closure is."""
    closed = {day for closure in closures for day in _shared_days(closure, first_day, last_day)}
    free = public_holidays(studio, range(first_day.year, last_day.year + 1))
    return frozenset(closed | {day for day in free if first_day <= day <= last_day})


def _shared_days(closure: Closure, first_day: date, last_day: date) -> Iterator[date]:
    begin, end = max(closure.first_day, first_day), min(closure.last_day, last_day)
    return (begin + timedelta(days=offset) for offset in range((end - begin).days + 1))
