"""Random diaries: dates around clock changes, opening hours, occupied times."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from sessions.diary.hours import weekly
from sessions.diary.intervals import Interval
from sessions.diary.need import Need

# Dates on which these zones changed their clocks: a half hour, two hours, at midnight, a minute past it, a whole day.
CLOCK_CHANGES = {
    "Europe/London": ["2024-03-31", "2024-10-27", "2025-03-30", "2025-10-26"],
    "America/New_York": ["2024-03-10", "2024-11-03", "2025-03-09", "2025-11-02"],
    "Australia/Lord_Howe": ["2025-04-06", "2025-10-05"],
    "Pacific/Chatham": ["2025-04-06", "2025-09-28"],
    "America/Sao_Paulo": ["2018-02-17", "2018-11-04"],
    "America/Santiago": ["2025-04-05", "2025-09-07"],
    "America/Havana": ["2025-03-09", "2025-11-02"],
    "America/St_Johns": ["2010-03-14", "2010-11-06", "2010-11-07"],
    "Africa/Casablanca": ["2025-02-23", "2025-04-06"],
    "Antarctica/Troll": ["2025-03-30", "2025-10-26"],
    "Asia/Beirut": ["2024-03-31", "2024-10-26"],
    "Pacific/Apia": ["2011-12-30", "2011-12-29"],
    "Asia/Kathmandu": [],
}
ODD_DATES = ["2024-02-29", "2025-02-28", "2024-12-31", "2025-01-01", "2000-02-29", "2099-12-31"]

zones = st.sampled_from(sorted(CLOCK_CHANGES)).map(ZoneInfo)
# Clocks change at night, so half of the wall times lie between eleven in the evening and four in the morning.
wall_times = (st.integers(-60, 4 * 60 - 1) | st.integers(0, 1439)).map(
    lambda minute: time(minute // 60 % 24, minute % 60)
)


@st.composite
def zoned_dates(draw):
    """A zone and a local date, mostly one on which its clocks change, or the day before or after."""
    zone = draw(zones)
    notable = st.sampled_from([*CLOCK_CHANGES[zone.key], *ODD_DATES]).map(date.fromisoformat)
    nearby = st.builds(lambda day, off: day + timedelta(days=off), notable, st.integers(-1, 1))
    return zone, draw(notable | nearby | st.dates(date(2001, 1, 1), date(2098, 12, 31)))


@st.composite
def day_stretches(draw):
    """Up to three stretches of one day, as (opens, closes), apart from each other or touching."""
    edges = sorted(draw(st.lists(st.integers(0, 288), min_size=2, max_size=6, unique=True)))
    pairs = list(zip(edges[::2], edges[1::2], strict=False))
    return [(_mark(opens), _mark(closes)) for opens, closes in pairs]


def _mark(quantum):
    return time(quantum // 12 % 24, quantum % 12 * 5)


@st.composite
def weekly_hours(draw):
    """Opening hours of a week, some days closed, some open from night to night."""
    some_day = day_stretches() | st.just([(time(0), time(0))]) | st.just([(time(9), time(17))]) | st.just([])
    days = draw(st.lists(some_day, min_size=7, max_size=7))
    return weekly((weekday, opens, closes) for weekday, day in enumerate(days) for opens, closes in day)


@st.composite
def intervals(draw, start=datetime(2025, 3, 29, tzinfo=UTC), minutes=1440):
    """An interval on whole minutes within the minutes after a start."""
    begin = draw(st.integers(0, minutes - 1))
    length = draw(st.integers(1, 240))
    return Interval(start + timedelta(minutes=begin), start + timedelta(minutes=begin + length))


needs = st.builds(
    lambda session, before, after: Need(session * 5, before_min=before * 5, after_min=after * 5),
    st.integers(1, 24),
    st.integers(0, 4),
    st.integers(0, 4),
)
