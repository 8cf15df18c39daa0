"""Find who and where for a start: whether it is on offer, whether anybody is free, and whom to choose."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from sessions.diary.errors import DiaryError
from sessions.diary.intervals import Interval, intersect, total
from sessions.models import FitSession, Service, Studio
from sessions.selectors.booking.diary import Wanted, booking_window, diary_of, need_of_service
from sessions.services.booking.errors import StartNotOfferedError, StartTakenError, WhyNot


@dataclass(frozen=True)
class Place:
    """A free start with the fitter and the bay that were chosen for it."""

    start: datetime
    fitter_id: int
    bay_id: int


def find_place(
    service: Service,
    start: datetime,
    *,
    with_notice: bool = True,
    fitter_id: int | None = None,
    bay_id: int | None = None,
) -> Place:
    """Return who and where for a start that is on offer; StartNotOfferedError or StartTakenError where there is none."""
    try:
        wanted = Wanted(need_of_service(service), fitter_id, bay_id)
    except DiaryError as error:
        raise StartNotOfferedError(start, WhyNot.HOURS) from error
    return place_for(service.studio, wanted, start, with_notice=with_notice)


def place_for(
    studio: Studio,
    wanted: Wanted,
    start: datetime,
    *,
    with_notice: bool = True,
    without: FitSession | None = None,
    keep: tuple[int, int] | None = None,
) -> Place:
    """Return who and where for a start; ``keep`` names a fitter and a bay to stay with where both are free."""
    check_window(studio, start, with_notice=with_notice)
    local_day = start.astimezone(studio.zone).date()
    diary = diary_of(studio, local_day, local_day, wanted=wanted, without=without)
    free = diary.at(wanted.need, start)
    if free is None:
        if diary.offers(wanted.need, start):
            raise StartTakenError(start)
        raise StartNotOfferedError(start, WhyNot.HOURS)
    kept_fitter, kept_bay = keep or (None, None)
    return Place(
        start,
        _least_busy(free.fitter_ids, diary.fitters, diary.open_hours, kept_fitter),
        _least_busy(free.bay_ids, diary.bays, diary.open_hours, kept_bay),
    )


def check_window(studio: Studio, start: datetime, *, with_notice: bool = True) -> None:
    """Refuse a start that has passed, is too soon or too far ahead."""
    now = timezone.now()
    earliest, latest = booking_window(studio, now, with_notice=with_notice)
    if start < now:
        raise StartNotOfferedError(start, WhyNot.PAST)
    if start < earliest:
        raise StartNotOfferedError(start, WhyNot.NOTICE)
    if start > latest:
        raise StartNotOfferedError(start, WhyNot.HORIZON)


def _least_busy(
    ids: tuple[int, ...], busy: Mapping[int, list[Interval]], hours: tuple[Interval, ...], kept: int | None
) -> int:
    """Return the one to stay with if free, else whoever has the least to do in these hours, the longest-known first."""
    if kept in ids:
        return kept
    return min(ids, key=lambda each: (total(intersect(busy[each], hours)), each))
