"""A studio's diary as plain values: when it is open, who and what is taken, and so when a session can start."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import ceil, floor
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils import timezone

from sessions.diary.errors import LengthError
from sessions.diary.free_starts import FreeStart, free_starts
from sessions.diary.hours import WeeklyHours, opening_intervals, weekly
from sessions.diary.intervals import Interval
from sessions.diary.need import Need
from sessions.diary.quanta import DAY_MIN, QUANTUM_MIN
from sessions.diary.states import OCCUPYING
from sessions.models import Bay, Closure, FitSession, Fitter, OpeningHours, Service, Studio
from sessions.selectors.closures import closed_within

ONE_MINUTE = timedelta(minutes=1)
Busy = dict[int, list[Interval]]


@dataclass(frozen=True)
class Diary:
    """Some local days of a studio: its doors, and what occupies each of its fitters and bays that take bookings."""

    zone: ZoneInfo
    grid_min: int
    open_hours: tuple[Interval, ...]
    fitters: Busy
    bays: Busy

    def starts(self, need: Need, not_before: datetime, not_after: datetime) -> tuple[FreeStart, ...]:
        """Return the free starts of a session in these days."""
        return self._starts(need, self.fitters, self.bays, not_before, not_after)

    def offers(self, need: Need, start: datetime) -> bool:
        """Return whether a session could start then if nobody had booked anything."""
        if not (self.fitters and self.bays):
            return False
        return bool(self._starts(need, {0: []}, {0: []}, start, start))

    def at(self, need: Need, start: datetime) -> FreeStart | None:
        """Return who and which bays are free at this very start; None where it is no free start."""
        found = self.starts(need, start, start)
        return found[0] if found and found[0].start_utc == start else None

    def _starts(
        self, need: Need, fitters: Busy, bays: Busy, not_before: datetime, not_after: datetime
    ) -> tuple[FreeStart, ...]:
        return free_starts(
            self.open_hours,
            fitters,
            bays,
            need,
            zone=self.zone,
            grid_min=self.grid_min,
            not_before=not_before,
            not_after=not_after,
        )


@dataclass(frozen=True)
class Wanted:
    """What a start must suit: the lengths, and a named fitter or bay where somebody asked for one."""

    need: Need
    fitter_id: int | None = None
    bay_id: int | None = None


def need_of_service(service: Service) -> Need:
    """Return how much time a session of this service takes; LengthError where it is longer than a day."""
    return Need(service.length_min, service.buffer_before_min, service.buffer_after_min)


def need_of_session(fit_session: FitSession, *, extra_min: int = 0) -> Need:
    """Return how much time a booked session takes, or would take with some minutes more."""
    length_min = fit_session.planned_min + fit_session.slack_min + extra_min
    return Need(length_min, fit_session.buffer_before_min, fit_session.buffer_after_min)


def booking_window(studio: Studio, now: datetime, *, with_notice: bool = True) -> tuple[datetime, datetime]:
    """Return the earliest and the latest start that can be booked now; staff may do without the notice."""
    notice = timedelta(hours=studio.notice_hours if with_notice else 0)
    last_day = now.astimezone(studio.zone).date() + timedelta(days=studio.horizon_days)
    return now + notice, datetime.combine(last_day, time.max, studio.zone)


def free_starts_of(
    studio: Studio, wanted: Wanted, *, with_notice: bool = True, without: FitSession | None = None
) -> tuple[FreeStart, ...]:
    """Return every free start from now to the studio's horizon: five queries."""
    not_before, not_after = booking_window(studio, timezone.now(), with_notice=with_notice)
    if not_before > not_after:
        return ()
    first_day = not_before.astimezone(studio.zone).date()
    last_day = not_after.astimezone(studio.zone).date()
    diary = diary_of(studio, first_day, last_day, wanted=wanted, without=without)
    return diary.starts(wanted.need, not_before, not_after)


def free_starts_for(service: Service, *, with_notice: bool = True, **named: int | None) -> tuple[FreeStart, ...]:
    """Return every free start of a service; none where its minutes do not fit into a day."""
    try:
        wanted = Wanted(need_of_service(service), **named)
    except LengthError:
        return ()
    return free_starts_of(service.studio, wanted, with_notice=with_notice)


def diary_of(
    studio: Studio,
    first_day: date,
    last_day: date,
    *,
    wanted: Wanted | None = None,
    without: FitSession | None = None,
) -> Diary:
    """Read a studio's diary for some local days: five queries. ``without`` leaves out a session that is to be moved."""
    fitters, bays = studio.fitters.filter(is_active=True), studio.bays.filter(is_active=True)
    if wanted is not None and wanted.fitter_id is not None:
        fitters = fitters.filter(pk=wanted.fitter_id)
    if wanted is not None and wanted.bay_id is not None:
        bays = bays.filter(pk=wanted.bay_id)
    open_hours = opening_hours_of(studio, first_day, last_day)
    by_fitter, by_bay = _busy(studio, first_day, last_day, without)
    return Diary(studio.zone, studio.grid_min, open_hours, _of(fitters, by_fitter), _of(bays, by_bay))


def opening_hours_of(studio: Studio, first_day: date, last_day: date) -> tuple[Interval, ...]:
    """Return when the studio is open on these local days: two queries."""
    closed = closed_days(studio, first_day, last_day)
    return opening_intervals(weekly_hours(studio.opening_hours.all()), studio.zone, first_day, last_day, closed)


def closed_days(studio: Studio, first_day: date, last_day: date) -> frozenset[date]:
    """Return the closures and public holidays among these days: one query."""
    closures = Closure.objects.filter(studio=studio, first_day__lte=last_day, last_day__gte=first_day)
    return closed_within(studio, closures, first_day, last_day)


def weekly_hours(rows: Iterable[OpeningHours]) -> WeeklyHours:
    """Return the weekly pattern. Rows that overlap are taken together; time short of a five-minute mark is left out."""
    by_day: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for row in sorted(rows, key=lambda each: (each.weekday, each.opens)):
        opens, closes = ceil(_minute(row.opens) / QUANTUM_MIN), floor(_minute(row.closes) / QUANTUM_MIN)
        stretches = by_day[row.weekday]
        if stretches and opens <= stretches[-1][1]:
            stretches[-1] = (stretches[-1][0], max(stretches[-1][1], closes))
        elif opens < closes:
            stretches.append((opens, closes))
    return weekly(
        (weekday, _wall(opens), _wall(closes)) for weekday, stretches in by_day.items() for opens, closes in stretches
    )


def _minute(wall: time) -> float:
    return wall.hour * 60 + wall.minute + wall.second / 60


def _wall(quantum: int) -> time:
    return time(*divmod(quantum * QUANTUM_MIN, 60))


def _busy(studio: Studio, first_day: date, last_day: date, without: FitSession | None) -> tuple[Busy, Busy]:
    """Return what occupies each fitter and each bay, buffers included."""
    # Nothing occupies more than a day, so this bounded range of an index finds whatever reaches into these days.
    begin = datetime.combine(first_day, time.min, studio.zone) - timedelta(minutes=DAY_MIN)
    end = datetime.combine(last_day, time.max, studio.zone) + timedelta(minutes=DAY_MIN)
    rows = FitSession.objects.filter(studio=studio, state__in=OCCUPYING, starts_at__range=(begin, end))
    if without is not None:
        rows = rows.exclude(pk=without.pk)
    by_fitter: Busy = defaultdict(list)
    by_bay: Busy = defaultdict(list)
    names = ("fitter_id", "bay_id", "starts_at", "ends_at", "buffer_before_min", "buffer_after_min")
    for fitter_id, bay_id, starts_at, ends_at, before_min, after_min in rows.values_list(*names):
        taken = Interval(starts_at - timedelta(minutes=before_min), ends_at + timedelta(minutes=after_min))
        by_fitter[fitter_id].append(taken)
        by_bay[bay_id].append(taken)
    return by_fitter, by_bay


def _of(resources: QuerySet[Fitter] | QuerySet[Bay], busy: Busy) -> Busy:
    return {pk: busy.get(pk, []) for pk in resources.order_by("pk").values_list("pk", flat=True)}


def free_extension(fit_session: FitSession) -> int:
    """Return by how many minutes a session can grow: until the doors close, or its fitter or its bay is taken again."""
    studio, need = fit_session.studio, need_of_session(fit_session)
    ends = need.occupied(fit_session.starts_at).end
    local_day = fit_session.starts_at.astimezone(studio.zone).date()
    by_fitter, by_bay = _busy(studio, local_day, local_day, fit_session)
    taken = [*by_fitter[fit_session.fitter_id], *by_bay[fit_session.bay_id]]
    doors = [each.end for each in opening_hours_of(studio, local_day, local_day) if each.start <= ends]
    until = min([max(doors, default=ends), *(each.start for each in taken if each.start >= ends)])
    possible_min = min((until - ends) // ONE_MINUTE, DAY_MIN - need.total_min)
    return max(0, possible_min - possible_min % QUANTUM_MIN)
