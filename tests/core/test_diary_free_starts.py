"""Free starts against a search that tries every minute."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.diary.errors import LengthError, NaiveTimeError
from sessions.diary.free_starts import FreeStart, free_starts
from sessions.diary.hours import opening_intervals, weekly
from sessions.diary.intervals import Interval, subtract
from sessions.diary.need import Need
from tests.strategies_diary import intervals, needs, weekly_hours, zoned_dates

LONDON = ZoneInfo("Europe/London")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
EVER = {"not_before": datetime(2000, 1, 1, tzinfo=UTC), "not_after": datetime(2100, 1, 1, tzinfo=UTC)}
NINE_TO_FIVE = weekly((day, time(9), time(17)) for day in range(7))


def local(starts, zone=LONDON):
    """The starts as the wall clock shows them."""
    return [f"{each.start_utc.astimezone(zone):%H:%M}" for each in starts]


def at(text, zone=LONDON):
    """A wall time, given as ISO, in a zone."""
    return datetime.fromisoformat(text).replace(tzinfo=zone)


def opened(day, hours=NINE_TO_FIVE, zone=LONDON, days=1):
    """The opening intervals from an ISO date on."""
    first = date.fromisoformat(day)
    return opening_intervals(hours, zone, first, first + timedelta(days=days - 1))


def minute_of(moment):
    """Whole minutes since 1970, downwards."""
    return (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(minutes=1)


def minutes(several):
    """The minutes that intervals hold, one by one."""
    return {minute for each in several for minute in range(minute_of(each.start), minute_of(each.end))}


def tried_minute_by_minute(open_hours, fitters, bays, need, *, zone, grid_min, not_before, not_after):
    """Every free start, found by trying every open minute."""
    open_minutes = minutes(open_hours)
    busy = {("fitter", key): minutes(several) for key, several in fitters.items()}
    busy |= {("bay", key): minutes(several) for key, several in bays.items()}
    day_opens, found = {}, []
    for minute in sorted(open_minutes):
        start = datetime.fromtimestamp(minute * 60, tz=UTC)
        shown = start.astimezone(zone)
        shown_min = shown.hour * 60 + shown.minute
        opens_min = day_opens.setdefault(shown.date(), shown_min)
        if (shown_min - opens_min) % grid_min or not not_before <= start <= not_after:
            continue
        span = range(minute - need.before_min, minute + need.session_min + need.after_min)
        if not open_minutes.issuperset(span):
            continue
        clear = [key for key, taken in busy.items() if taken.isdisjoint(span)]
        who = tuple(key for kind, key in clear if kind == "fitter")
        where = tuple(key for kind, key in clear if kind == "bay")
        if who and where:
            found.append(FreeStart(start, who, where))
    return tuple(found)


@st.composite
def diaries(draw):
    """Opening hours of a few days, around a clock change more often than not, and some who are busy."""
    zone, first_day = draw(zoned_dates())
    days = draw(st.integers(1, 3))
    open_hours = opening_intervals(draw(weekly_hours()), zone, first_day, first_day + timedelta(days=days - 1))
    start = datetime.combine(first_day, time(0), tzinfo=UTC) - timedelta(hours=14)
    window_min = (days * 24 + 28) * 60
    resources = st.dictionaries(
        st.integers(1, 99), st.lists(intervals(start=start, minutes=window_min), max_size=6), min_size=1, max_size=3
    )
    end = start + timedelta(minutes=window_min)
    early = st.integers(0, window_min * 30).map(lambda seconds: start + timedelta(seconds=seconds))
    late = st.integers(0, window_min * 30).map(lambda seconds: end - timedelta(seconds=seconds))
    return {
        "open_hours": open_hours,
        "fitters": draw(resources),
        "bays": draw(resources),
        "need": draw(needs),
        "zone": zone,
        "grid_min": draw(st.sampled_from([5, 10, 15, 20, 30, 45, 60, 90, 1440])),
        "not_before": draw(st.just(start) | early),
        "not_after": draw(st.just(end) | late),
    }


@settings(max_examples=300)
@given(diaries())
def test_free_starts_agree_with_trying_every_minute(diary):
    """The same starts, fitters and bays as a search that knows nothing of quanta or arrays."""
    assert free_starts(**diary) == tried_minute_by_minute(**diary)


@given(diaries())
def test_taking_a_start_takes_it_from_nobody_else(diary):
    """After booking a start with its first fitter and bay, neither is offered for anything that overlaps it."""
    before = free_starts(**diary)
    if not before:
        return
    taken = before[len(before) // 2]
    fitter, bay = taken.fitter_ids[0], taken.bay_ids[0]
    occupied = diary["need"].occupied(taken.start_utc)
    fitters = diary["fitters"] | {fitter: [*diary["fitters"][fitter], occupied]}
    bays = diary["bays"] | {bay: [*diary["bays"][bay], occupied]}
    after = free_starts(**diary | {"fitters": fitters, "bays": bays})
    assert {each.start_utc for each in after} <= {each.start_utc for each in before}
    for each in after:
        if diary["need"].occupied(each.start_utc).overlaps(occupied):
            assert fitter not in each.fitter_ids
            assert bay not in each.bay_ids


@given(diaries(), st.randoms(use_true_random=False))
def test_order_of_what_is_given_does_not_matter(diary, random):
    """Shuffled and repeated intervals give the same answer."""
    shuffled = dict(diary)
    for name in ("fitters", "bays"):
        shuffled[name] = {key: random.sample(several * 2, len(several) * 2) for key, several in diary[name].items()}
    shuffled["open_hours"] = random.sample(diary["open_hours"] * 2, len(diary["open_hours"]) * 2)
    assert free_starts(**shuffled) == free_starts(**diary)


def test_a_plain_day():
    """Two hours every half hour from nine to five; the last start is at three."""
    starts = free_starts(opened("2025-06-02"), {1: []}, {7: []}, Need(120), zone=LONDON, grid_min=30, **EVER)
    assert local(starts) == [f"{hour:02}:{minute:02}" for hour in range(9, 15) for minute in (0, 30)] + ["15:00"]
    assert {(each.fitter_ids, each.bay_ids) for each in starts} == {((1,), (7,))}


def test_buffers_stay_inside_opening_hours():
    """With 15 minutes before and 30 after, the first session is at 09:30 and the last ends half an hour early."""
    need = Need(120, before_min=15, after_min=30)
    starts = free_starts(opened("2025-06-02"), {1: []}, {7: []}, need, zone=LONDON, grid_min=30, **EVER)
    assert local(starts)[0] == "09:30"
    assert local(starts)[-1] == "14:30"


def test_buffers_keep_clear_of_other_sessions():
    """A session until eleven and a 15-minute buffer before: the next can start at 11:15, or 11:30 on the half hour."""
    busy = {1: [Interval(at("2025-06-02T09:00"), at("2025-06-02T11:00"))]}
    for grid_min, first in [(15, "11:15"), (30, "11:30")]:
        starts = free_starts(
            opened("2025-06-02"), busy, {7: []}, Need(60, before_min=15), zone=LONDON, grid_min=grid_min, **EVER
        )
        assert local(starts)[0] == first


def test_fitter_and_bay_must_be_free_together():
    """One fitter free in the morning, the only bay free in the afternoon: nothing fits."""
    noon = at("2025-06-02T13:00")
    fitters = {1: [Interval(noon, at("2025-06-02T17:00"))]}
    bays = {7: [Interval(at("2025-06-02T09:00"), noon)]}
    assert free_starts(opened("2025-06-02"), fitters, bays, Need(60), zone=LONDON, grid_min=30, **EVER) == ()


def test_no_session_runs_through_the_lunch_break():
    """Hours of 09:00 to 12:00 and 12:30 to 14:30 hold a two-hour session at 09, 09:30, 10 and 12:30 only."""
    hours = weekly([(0, time(9), time(12)), (0, time(12, 30), time(14, 30))])
    starts = free_starts(opened("2025-06-02", hours), {1: []}, {7: []}, Need(120), zone=LONDON, grid_min=30, **EVER)
    assert local(starts) == ["09:00", "09:30", "10:00", "12:30"]


def test_the_grid_counts_from_the_days_opening():
    """A day that opens at 08:50 offers 08:50, 09:35 on a 45-minute grid, and the break does not shift it."""
    hours = weekly([(0, time(8, 50), time(10, 30)), (0, time(10, 40), time(13))])
    starts = free_starts(opened("2025-06-02", hours), {1: []}, {7: []}, Need(30), zone=LONDON, grid_min=45, **EVER)
    assert local(starts) == ["08:50", "09:35", "11:05", "11:50"]


def test_notice_and_horizon_bound_the_start():
    """Both bounds are included; a second past the first excludes it."""
    fixed = {"zone": LONDON, "grid_min": 60}
    bounds = {"not_before": at("2025-06-02T11:00"), "not_after": at("2025-06-02T13:00")}
    day = opened("2025-06-02")
    assert local(free_starts(day, {1: []}, {7: []}, Need(60), **fixed, **bounds)) == ["11:00", "12:00", "13:00"]
    bounds["not_before"] += timedelta(seconds=1)
    bounds["not_after"] -= timedelta(microseconds=1)
    assert local(free_starts(day, {1: []}, {7: []}, Need(60), **fixed, **bounds)) == ["12:00"]
    bounds["not_after"] = bounds["not_before"] - timedelta(days=1)
    assert free_starts(day, {1: []}, {7: []}, Need(60), **fixed, **bounds) == ()


def test_skipped_and_repeated_times():
    """In London's spring night 01:00 and 01:30 are no starts; in autumn they are starts twice over."""
    hours = weekly((day, time(0), time(4)) for day in range(7))
    fixed = {"zone": LONDON, "grid_min": 30, **EVER}
    spring = free_starts(opened("2025-03-30", hours), {1: []}, {7: []}, Need(60), **fixed)
    autumn = free_starts(opened("2025-10-26", hours), {1: []}, {7: []}, Need(60), **fixed)
    assert local(spring) == ["00:00", "00:30", "02:00", "02:30", "03:00"]
    assert local(autumn) == ["00:00", "00:30", "01:00", "01:30", "01:00", "01:30", "02:00", "02:30", "03:00"]


def test_wall_grid_holds_after_a_half_hour_change():
    """On Lord Howe Island hourly starts stay on the full hour by the wall, not by elapsed hours."""
    hours = weekly((day, time(0), time(5)) for day in range(7))
    fixed = {"zone": LORD_HOWE, "grid_min": 60, **EVER}
    spring = free_starts(opened("2025-10-05", hours, LORD_HOWE), {1: []}, {7: []}, Need(60), **fixed)
    autumn = free_starts(opened("2025-04-06", hours, LORD_HOWE), {1: []}, {7: []}, Need(60), **fixed)
    assert local(spring, LORD_HOWE) == ["00:00", "01:00", "03:00", "04:00"]
    assert local(autumn, LORD_HOWE) == ["00:00", "01:00", "02:00", "03:00", "04:00"]


def test_leap_day_and_new_year():
    """29 February and 31 December are days like any other, and the last one runs into the new year."""
    fixed = {"zone": LONDON, "grid_min": 60, **EVER}
    leap = free_starts(opened("2024-02-28", days=3), {1: []}, {7: []}, Need(480), **fixed)
    assert [each.start_utc.date() for each in leap] == [date(2024, 2, 28), date(2024, 2, 29), date(2024, 3, 1)]
    always = weekly((day, time(0), time(0)) for day in range(7))
    fixed |= {"not_before": at("2024-12-31T23:00"), "not_after": at("2025-01-01T01:00")}
    night = free_starts(opened("2024-12-31", always, days=2), {1: []}, {7: []}, Need(120), **fixed)
    assert local(night) == ["23:00", "00:00", "01:00"]


def test_own_hours_of_a_fitter_are_busy_time_outside_them():
    """A fitter who works from noon is offered from noon on, in the order in which fitters were given."""
    day = opened("2025-06-02")
    from_noon = [Interval(at("2025-06-02T12:00"), at("2025-06-02T17:00"))]
    fitters = {5: subtract(day, from_noon), 2: []}
    starts = free_starts(day, fitters, {7: []}, Need(240), zone=LONDON, grid_min=60, **EVER)
    assert [each.fitter_ids for each in starts] == [(2,), (2,), (2,), (5, 2), (5, 2)]


def test_more_people_than_bits_in_a_byte():
    """Twenty fitters and nine bays, each busy in an hour of their own, are told apart."""
    day = opened("2025-06-02")
    hours = [Interval(at(f"2025-06-02T{hour:02}:00"), at(f"2025-06-02T{hour:02}:30")) for hour in range(9, 17)]
    fitters = {key: [hours[key % 8]] for key in range(20)}
    bays = {key: [hours[key % 8]] for key in range(9)}
    starts = free_starts(day, fitters, bays, Need(30), zone=LONDON, grid_min=60, **EVER)
    assert [each.fitter_ids for each in starts] == [
        tuple(key for key in range(20) if key % 8 != hour) for hour in range(8)
    ]
    assert [each.bay_ids for each in starts] == [tuple(key for key in range(9) if key % 8 != hour) for hour in range(8)]


@pytest.mark.parametrize("blocker", ["2025-06-02T10:59 11:01", "2025-06-02T09:00 17:00", "2025-06-01T00:00 23:00"])
def test_a_minute_off_the_grid_blocks_its_quantum(blocker):
    """Time off that begins at an odd minute blocks what it touches and nothing else."""
    start, end_time = blocker.split()
    busy = [Interval(at(start), at(f"{start[:10]}T{end_time}"))]
    starts = free_starts(opened("2025-06-02"), {1: busy}, {7: []}, Need(30), zone=LONDON, grid_min=30, **EVER)
    expected = [
        f"{hour:02}:{minute:02}"
        for hour in range(9, 17)
        for minute in (0, 30)
        if not Need(30).occupied(at(f"2025-06-02T{hour:02}:{minute:02}")).overlaps(busy[0])
    ]
    assert local(starts) == expected


def test_hours_off_the_grid_open_only_whole_quanta():
    """Open from 09:02 to 10:01: the first whole five minutes begin at 09:05, the last end at 10:00."""
    odd = [Interval(at("2025-06-02T09:02"), at("2025-06-02T10:01"))]
    starts = free_starts(odd, {1: []}, {7: []}, Need(50), zone=LONDON, grid_min=5, **EVER)
    assert local(starts) == ["09:05", "09:10"]


def test_nothing_gives_nothing():
    """No hours, no fitters, no bays, or a session longer than the day: no start and no error."""
    fixed = {"zone": LONDON, "grid_min": 30, **EVER}
    day = opened("2025-06-02")
    assert free_starts([], {1: []}, {7: []}, Need(60), **fixed) == ()
    assert free_starts(day, {}, {7: []}, Need(60), **fixed) == ()
    assert free_starts(day, {1: []}, {}, Need(60), **fixed) == ()
    assert free_starts(day, {1: []}, {7: []}, Need(485), **fixed) == ()
    assert len(free_starts(day, {1: []}, {7: []}, Need(480), **fixed)) == 1


@pytest.mark.parametrize("grid_min", [0, -30, 7, 1445])
def test_grids_that_cannot_be_are_refused(grid_min):
    """A grid is a multiple of five minutes within a day."""
    with pytest.raises(LengthError, match=r"^Grid: "):
        free_starts([], {}, {}, Need(60), zone=LONDON, grid_min=grid_min, **EVER)


def test_bounds_without_zone_are_refused():
    """Notice and horizon are instants."""
    naive = EVER["not_before"].replace(tzinfo=None)
    with pytest.raises(NaiveTimeError):
        free_starts([], {}, {}, Need(60), zone=LONDON, grid_min=30, **EVER | {"not_before": naive})
    with pytest.raises(NaiveTimeError):
        free_starts([], {}, {}, Need(60), zone=LONDON, grid_min=30, **EVER | {"not_after": naive})
