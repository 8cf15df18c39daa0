"""What is on offer to somebody who books: leafed week by week, or the nearest to a start that is gone."""

from datetime import date, datetime

from django.utils import timezone

from sessions.diary.choices import nearest
from sessions.diary.free_starts import FreeStart
from sessions.models import Service
from sessions.selectors.diary import booking_window, free_starts_for
from sessions.selectors.weeks import Week, week_of

OTHER_STARTS = 6


def week_on_offer(service: Service, wanted: date | None, *, with_notice: bool = True, **named: int | None) -> Week:
    """Return one week of free starts, by default the first that has any."""
    studio = service.studio
    window = booking_window(studio, timezone.now(), with_notice=with_notice)
    first_day, last_day = (moment.astimezone(studio.zone).date() for moment in window)
    starts = free_starts_for(service, with_notice=with_notice, **named)
    return week_of(starts, studio.zone, first_day, max(first_day, last_day), wanted)


def other_starts(
    service: Service, wanted: datetime | None, *, with_notice: bool = True, **named: int | None
) -> tuple[FreeStart, ...]:
    """Return the free starts nearest to the one that cannot be had, in the order of the day."""
    starts = free_starts_for(service, with_notice=with_notice, **named)
    found = nearest(starts, wanted or timezone.now(), OTHER_STARTS)
    return tuple(sorted(found, key=lambda each: each.start_utc))
