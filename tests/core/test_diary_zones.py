"""Wall clocks and instants, against a reading of the clock minute by minute."""

from contextlib import suppress
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.diary.errors import DiaryError, NaiveTimeError, SkippedTimeError, UnknownZoneError, ZonedWallTimeError
from sessions.diary.zones import first_reaching, in_utc, is_repeated, offset_pieces, to_utc, zone_named
from tests.strategies_diary import wall_times, zoned_dates, zones

LONDON = ZoneInfo("Europe/London")
LORD_HOWE = ZoneInfo("Australia/Lord_Howe")
wall = datetime.fromisoformat


def readings(zone, day):
    """What the wall clock shows at each minute around a date: (instant, naive local time), one way only, from UTC."""
    start = datetime.combine(day, time(0), tzinfo=UTC) - timedelta(hours=40)
    instants = (start + timedelta(minutes=minute) for minute in range(96 * 60))
    return [(instant, instant.astimezone(zone).replace(tzinfo=None, fold=0)) for instant in instants]


@given(zoned_dates(), wall_times)
def test_first_reaching_agrees_with_watching_the_clock(zoned_date, wall_time):
    """It is the first minute at which somebody who watches the clock sees that time or a later one."""
    zone, day = zoned_date
    typed = datetime.combine(day, wall_time)
    watched = next(instant for instant, shown in readings(zone, day) if shown >= typed)
    assert first_reaching(typed, zone) == watched


@given(zoned_dates(), wall_times)
def test_typed_times_agree_with_watching_the_clock(zoned_date, wall_time):
    """A typed time means its first or its second showing; one that is never shown is refused."""
    zone, day = zoned_date
    typed = datetime.combine(day, wall_time)
    showings = [instant for instant, shown in readings(zone, day) if shown == typed]
    if showings:
        assert to_utc(typed, zone) == showings[0]
        assert to_utc(typed, zone, second=True) == showings[-1]
        assert [is_repeated(each, zone) for each in showings] == [len(showings) == 2] * len(showings)
    else:
        for second in (False, True):
            with pytest.raises(SkippedTimeError) as refused:
                to_utc(typed, zone, second=second)
            assert refused.value.resumes == min(shown for _, shown in readings(zone, day) if shown > typed)


@given(zoned_dates(), st.integers(-2000, 2000), st.integers(0, 4000))
def test_offset_pieces_agree_with_the_zone(zoned_date, from_min, length_min):
    """The pieces cover the stretch without gaps, and within each the zone has that offset at every minute."""
    zone, day = zoned_date
    start = datetime.combine(day, time(12), tzinfo=UTC) + timedelta(minutes=from_min)
    end = start + timedelta(minutes=length_min)
    pieces = offset_pieces(start, end, zone)
    by_piece = [
        (instant, piece.offset_s)
        for piece in pieces
        for instant in (
            piece.start_utc + timedelta(minutes=minute)
            for minute in range(int((piece.end_utc - piece.start_utc) / timedelta(minutes=1)))
        )
    ]
    each_minute = [start + timedelta(minutes=minute) for minute in range(length_min)]
    assert by_piece == [(each, each.astimezone(zone).utcoffset().total_seconds()) for each in each_minute]
    assert all(earlier.offset_s != later.offset_s for earlier, later in pairwise(pieces))


def test_offset_pieces_over_a_year_hold_both_changes():
    """A year of Lord Howe Island is three pieces: 11 h, 10 h 30 min, 11 h ahead."""
    pieces = offset_pieces(datetime(2025, 1, 1, tzinfo=UTC), datetime(2026, 1, 1, tzinfo=UTC), LORD_HOWE)
    assert [piece.offset_s / 3600 for piece in pieces] == [11, 10.5, 11]


def test_change_at_the_very_end_is_no_piece():
    """A stretch that ends when the clocks change is one piece, and one that starts then is, too."""
    change = datetime(2025, 3, 30, 1, tzinfo=UTC)
    before = offset_pieces(change - timedelta(hours=8), change, LONDON)
    after = offset_pieces(change, change + timedelta(hours=8), LONDON)
    assert [(piece.end_utc, piece.offset_s) for piece in before] == [(change, 0)]
    assert [(piece.start_utc, piece.offset_s) for piece in after] == [(change, 3600)]


def test_a_repeated_time_is_taken_at_the_showing_asked_for():
    """01:30 in London's autumn night is first summer time and, an hour later, winter time."""
    first, second = (to_utc(wall("2025-10-26T01:30"), LONDON, second=each) for each in (False, True))
    assert (first, second) == (datetime(2025, 10, 26, 0, 30, tzinfo=UTC), datetime(2025, 10, 26, 1, 30, tzinfo=UTC))
    assert is_repeated(first, LONDON)
    assert is_repeated(second, LONDON)
    assert not is_repeated(second + timedelta(minutes=30), LONDON)


@given(st.datetimes(wall("2001-01-01"), wall("2090-01-01"), timezones=st.just(UTC)), zones)
def test_every_instant_comes_back_from_its_wall_time(instant, zone):
    """Showing an instant on the wall and typing it back gives the instant."""
    local = instant.astimezone(zone)
    assert to_utc(local.replace(tzinfo=None, fold=0), zone, second=bool(local.fold)) == instant


@given(st.datetimes(), zones, st.booleans())
def test_any_typed_time_is_understood_or_refused(typed, zone, second):
    """From the year 1 to 9999 a typed time gives an instant or one of our refusals, never another error."""
    with suppress(DiaryError):
        assert to_utc(typed, zone, second=second).tzinfo is UTC


def test_skipped_time_says_when_the_clock_goes_on():
    """The refusal of a skipped time is a sentence that helps."""
    with pytest.raises(SkippedTimeError) as refused:
        to_utc(wall("2025-10-05T02:10"), LORD_HOWE)
    assert str(refused.value) == ("02:10 does not happen on 2025-10-05: the clocks go forward and continue at 02:30.")


def test_wall_time_with_a_zone_is_refused():
    """A wall time that already has a zone would be shifted twice."""
    with pytest.raises(ZonedWallTimeError):
        to_utc(datetime(2025, 1, 1, tzinfo=UTC), LONDON)
    with pytest.raises(ZonedWallTimeError):
        first_reaching(datetime(2025, 1, 1, tzinfo=UTC), LONDON)


def test_naive_instant_is_refused():
    """A time without zone is no instant."""
    with pytest.raises(NaiveTimeError):
        in_utc(wall("2025-01-01"))


@pytest.mark.parametrize("name", ["", "Europe", "Europe/Londno", "/etc/passwd", "../UTC", "a\0b", "x" * 5000, "ＵＴＣ"])
def test_unknown_zones_are_refused(name):
    """What is no zone of the database is refused and named, paths included."""
    with pytest.raises(UnknownZoneError) as refused:
        zone_named(name)
    assert refused.value.value == name
