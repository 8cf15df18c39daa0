"""What is on offer to somebody who books or moves: leafed week by week, or the nearest to a start that is gone."""

from collections.abc import Sequence
from datetime import date, datetime

from django.utils import timezone

from sessions.diary.choices import nearest
from sessions.diary.free_starts import FreeStart
from sessions.models import FitSession, Service, Studio
from sessions.selectors.booking.diary import Wanted, booking_window, free_starts_for, free_starts_of, need_of_session
from sessions.selectors.booking.weeks import Week, week_of

OTHER_STARTS = 6


def week_on_offer(service: Service, wanted: date | None, *, with_notice: bool = True, **named: int | None) -> Week:
    """Return one week of a service's free starts, by default the first that has any."""
    starts = free_starts_for(service, with_notice=with_notice, **named)
    return _week(service.studio, starts, wanted, with_notice=with_notice)


def other_starts(
    service: Service, wanted: datetime | None, *, with_notice: bool = True, **named: int | None
) -> tuple[FreeStart, ...]:
    """Return the free starts nearest to the one that cannot be had, in the order of the day."""
    return _nearest(free_starts_for(service, with_notice=with_notice, **named), wanted)


def week_to_move_to(fit_session: FitSession, wanted: date | None) -> Week:
    """Return one week of starts that a booked session could have instead, without notice."""
    return _week(fit_session.studio, _to_move_to(fit_session), wanted, with_notice=False)


def other_starts_to_move_to(fit_session: FitSession, wanted: datetime | None) -> tuple[FreeStart, ...]:
    """Return the starts, nearest to one that cannot be had, that a booked session could have instead."""
    return _nearest(_to_move_to(fit_session), wanted)


def _to_move_to(fit_session: FitSession) -> tuple[FreeStart, ...]:
    wanted = Wanted(need_of_session(fit_session))
    starts = free_starts_of(fit_session.studio, wanted, with_notice=False, without=fit_session)
    return tuple(each for each in starts if each.start_utc != fit_session.starts_at)


def _week(studio: Studio, starts: Sequence[FreeStart], wanted: date | None, *, with_notice: bool) -> Week:
    window = booking_window(studio, timezone.now(), with_notice=with_notice)
    first_day, last_day = (moment.astimezone(studio.zone).date() for moment in window)
    return week_of(starts, studio.zone, first_day, max(first_day, last_day), wanted)


def _nearest(starts: Sequence[FreeStart], wanted: datetime | None) -> tuple[FreeStart, ...]:
    found = nearest(starts, wanted or timezone.now(), OTHER_STARTS)
    return tuple(sorted(found, key=lambda each: each.start_utc))
