"""The five-minute quantum."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.diary.errors import EndBeforeStartError, NaiveTimeError, OffGridError
from sessions.diary.quanta import first_quantum_from, quanta, quantum_holding, quantum_start

NINE = datetime(2025, 1, 6, 9, 0, tzinfo=UTC)


def test_quanta_are_the_epoch_seconds_over_300():
    """Two hours are 24 quanta from the epoch second of the start over 300."""
    assert quanta(NINE, NINE + timedelta(hours=2)) == range(
        int(NINE.timestamp()) // 300, int(NINE.timestamp()) // 300 + 24
    )


@given(st.integers(-(10**6), 10**7), st.integers(1, 500))
def test_quanta_and_their_starts_are_inverse(first, count):
    """Every run of quanta is what its own start and end occupy, before 1970 too."""
    assert quanta(quantum_start(first), quantum_start(first + count)) == range(first, first + count)


def test_stretches_that_touch_share_no_quantum():
    """Half-open stretches: the quantum at which one ends is the other's first."""
    ten, noon = NINE + timedelta(hours=1), NINE + timedelta(hours=3)
    assert set(quanta(NINE, ten)).isdisjoint(quanta(ten, noon))


def test_zone_makes_no_difference():
    """The same instants in another zone are the same quanta, across a clock change as well."""
    new_york = ZoneInfo("America/New_York")
    start, end = datetime(2025, 3, 9, 6, 30, tzinfo=UTC), datetime(2025, 3, 9, 7, 30, tzinfo=UTC)
    assert quanta(start.astimezone(new_york), end.astimezone(new_york)) == quanta(start, end)
    assert len(quanta(start, end)) == 12


@given(st.datetimes(timezones=st.just(UTC)))
def test_rounding_agrees_with_seconds(moment):
    """Floor and ceiling on the grid agree with exact integer arithmetic on microseconds."""
    since = moment - datetime(1970, 1, 1, tzinfo=UTC)
    exact_us = (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds
    assert quantum_holding(moment) == exact_us // 300_000_000
    assert first_quantum_from(moment) == -(-exact_us // 300_000_000)
    assert quantum_start(quantum_holding(moment)) <= moment < quantum_start(quantum_holding(moment) + 1)


@pytest.mark.parametrize("off", [timedelta(minutes=1), timedelta(seconds=1), timedelta(microseconds=1)])
def test_times_off_the_grid_are_refused(off):
    """A start or an end that is off its mark is refused and named."""
    with pytest.raises(OffGridError) as refused:
        quanta(NINE + off, NINE + timedelta(hours=1))
    assert refused.value.value == NINE + off
    with pytest.raises(OffGridError):
        quanta(NINE, NINE + timedelta(hours=1) + off)


def test_odd_offset_is_refused_not_rounded():
    """A zone seven minutes off the hour puts its full hours off the grid."""
    with pytest.raises(OffGridError):
        quanta(datetime(2025, 1, 6, 9, tzinfo=timezone(timedelta(minutes=7))), NINE + timedelta(hours=1))


@pytest.mark.parametrize("minutes", [0, -5])
def test_empty_and_backward_stretches_are_refused(minutes):
    """An end at or before the start is refused."""
    with pytest.raises(EndBeforeStartError):
        quanta(NINE, NINE + timedelta(minutes=minutes))


def test_time_without_zone_is_refused():
    """A naive time has no place on the grid."""
    with pytest.raises(NaiveTimeError, match="no time zone"):
        quanta(NINE.replace(tzinfo=None), NINE + timedelta(hours=1))
