"""Clock changes by the letter of the law, against the diary's opening hours.

The laws name a Sunday and an hour; the dates are reckoned here from the Gregorian calendar and owe nothing to the
time-zone database that the diary reads. Sources:

* Directive 2000/84/EC, articles 2 and 3 (as summarised by the UK's National Physical Laboratory, "Summer Time
  Dates", and by the European Parliament's legislative observatory, 2000/0140(COD)): from 2002 on, summer time begins
  at 01:00 GMT on the last Sunday in March and ends at 01:00 GMT on the last Sunday in October. The United Kingdom
  keeps the same dates (NPL, same page).
* 15 U.S.C. 260a(a), since 2007: one hour ahead from 02:00 on the second Sunday of March to 02:00 on the first
  Sunday of November.
* New South Wales, Standard Time Act 1987: Lord Howe Island keeps UTC+10:30. Half an hour ahead from the first Sunday
  in October to the first Sunday in April, at 02:00, since 2008: as tabled by timeanddate.com for the island, 2020-2029.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from sessions.diary.errors import SkippedTimeError
from sessions.diary.hours import opening_intervals, weekly
from sessions.diary.intervals import total
from sessions.diary.zones import is_repeated, to_utc

ROUND_THE_CLOCK = weekly((day, time(0), time(0)) for day in range(7))
ONE_HOUR, HALF_AN_HOUR = timedelta(hours=1), timedelta(minutes=30)


def sunday(year, month, which):
    """The first, second, … Sunday of a month; -1 is the last one."""
    days = [date(year, month, 1) + timedelta(days=n) for n in range(31)]
    return [day for day in days if day.month == month and day.weekday() == 6][which if which < 0 else which - 1]


def europe(year):
    """Spring and autumn Sunday of Directive 2000/84/EC."""
    return sunday(year, 3, -1), sunday(year, 10, -1)


def united_states(year):
    """Spring and autumn Sunday of 15 U.S.C. 260a."""
    return sunday(year, 3, 2), sunday(year, 11, 1)


def lord_howe(year):
    """Forward in October, back in April: the southern spring and autumn."""
    return sunday(year, 10, 1), sunday(year, 4, 1)


# zone, rule, change, local time that the clock skips from, and local time at which it is turned back
LAWS = [
    ("Europe/London", europe, ONE_HOUR, time(1), time(2)),
    ("Europe/Berlin", europe, ONE_HOUR, time(2), time(3)),
    ("Europe/Helsinki", europe, ONE_HOUR, time(3), time(4)),
    ("America/New_York", united_states, ONE_HOUR, time(2), time(2)),
    ("America/Los_Angeles", united_states, ONE_HOUR, time(2), time(2)),
    ("Australia/Lord_Howe", lord_howe, HALF_AN_HOUR, time(2), time(2)),
]
every_law = pytest.mark.parametrize(("zone", "rule", "change", "forward_from", "back_from"), LAWS)
every_year = pytest.mark.parametrize("year", range(2009, 2026))


@every_law
@every_year
def test_only_the_days_named_by_law_are_short_or_long(zone, rule, change, forward_from, back_from, year):
    """Of all days of a year, the diary makes the spring Sunday short, the autumn Sunday long, the others 24 hours."""
    spring, autumn = rule(year)
    days = [date(year, 1, 1) + timedelta(days=n) for n in range((date(year + 1, 1, 1) - date(year, 1, 1)).days)]
    odd = {
        day: length - timedelta(days=1)
        for day in days
        if (length := total(opening_intervals(ROUND_THE_CLOCK, ZoneInfo(zone), day, day))) != timedelta(days=1)
    }
    assert odd == {spring: -change, autumn: change}


@every_law
@every_year
def test_clocks_change_at_the_hour_named_by_law(zone, rule, change, forward_from, back_from, year):
    """The times that the law skips are refused, those that it repeats are found twice, their neighbours once."""
    spring, autumn = rule(year)
    where = ZoneInfo(zone)
    first_skipped = datetime.combine(spring, forward_from)
    minute = timedelta(minutes=1)
    for skipped in (first_skipped, first_skipped + change - minute):
        with pytest.raises(SkippedTimeError):
            to_utc(skipped, where)
    assert to_utc(first_skipped + change, where) - to_utc(first_skipped - minute, where) == minute
    turned_back = datetime.combine(autumn, back_from)
    for repeated in (turned_back - change, turned_back - minute):
        assert to_utc(repeated, where, second=True) - to_utc(repeated, where) == change
        assert is_repeated(to_utc(repeated, where), where)
    for plain in (turned_back - change - minute, turned_back):
        assert to_utc(plain, where, second=True) == to_utc(plain, where)


@every_year
def test_europe_changes_at_one_o_clock_greenwich(year):
    """The directive's instant is the same everywhere: 01:00 GMT, in three zones."""
    spring, autumn = europe(year)
    for zone, spring_reads, autumn_reads in [
        ("Europe/London", time(2), time(1)),
        ("Europe/Berlin", time(3), time(2)),
        ("Europe/Helsinki", time(4), time(3)),
    ]:
        assert to_utc(datetime.combine(spring, spring_reads), ZoneInfo(zone)) == datetime.combine(spring, time(1), UTC)
        second = to_utc(datetime.combine(autumn, autumn_reads), ZoneInfo(zone), second=True)
        assert second == datetime.combine(autumn, time(1), UTC)
