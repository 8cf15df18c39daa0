"""Fix-by days against numpy's business-day calendar and a printed list of public holidays."""

from datetime import date, timedelta

import holidays
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from intake.triage.answers import WorkingDays
from intake.triage.deadlines import add_working_days, fix_by, is_working_day
from tests.strategies import days, working_days

leads = st.integers(1, 40)


def calendar(working):
    """The same working days as numpy keeps them."""
    weekmask = [weekday in working.open_weekdays for weekday in range(7)]
    return np.busdaycalendar(weekmask=weekmask, holidays=sorted(working.closed))


@given(days, leads, working_days)
def test_counting_back_is_numpys_business_day_offset(starts_on, lead_days, working):
    """`numpy.busday_offset`, from the first working day on or after the slot."""
    expected = np.busday_offset(starts_on, -lead_days, roll="forward", busdaycal=calendar(working))
    assert fix_by(starts_on, lead_days, working) == expected.astype(date)


@given(days, st.integers(0, 40), working_days)
def test_counting_forward_is_numpys_business_day_offset(today, lead_days, working):
    """`numpy.busday_offset`, from the first working day on or after today."""
    expected = np.busday_offset(today, lead_days, roll="forward", busdaycal=calendar(working))
    assert add_working_days(today, lead_days, working) == expected.astype(date)


@given(days, leads, working_days)
def test_the_days_from_fix_by_to_the_slot_are_the_lead_time(starts_on, lead_days, working):
    """`numpy.busday_count` of the working days that the remedy has."""
    assert np.busday_count(fix_by(starts_on, lead_days, working), starts_on, busdaycal=calendar(working)) == lead_days


@given(days, working_days)
def test_a_working_day_is_numpys_business_day(day, working):
    """`numpy.is_busday`."""
    assert is_working_day(day, working) == np.is_busday(day, busdaycal=calendar(working))


# Bank holidays in England and Wales as published at https://www.gov.uk/bank-holidays; the days of 2026 from memory, and held here
# against the holidays library.
ENGLAND_2026 = {
    date(2026, 4, 3): "Good Friday",
    date(2026, 4, 6): "Easter Monday",
    date(2026, 5, 4): "Early May bank holiday",
    date(2026, 5, 25): "Spring bank holiday",
    date(2026, 12, 25): "Christmas Day",
    date(2026, 12, 28): "Boxing Day (substitute day)",
}


def test_the_printed_holidays_are_the_librarys():
    """So that the worked examples below stand on two feet."""
    known = holidays.country_holidays("GB", subdiv="ENG", years=2026)
    assert set(ENGLAND_2026) <= set(known)


@pytest.mark.parametrize(
    ("starts_on", "lead_days", "expected"),
    [
        (date(2026, 4, 7), 1, date(2026, 4, 2)),
        (date(2026, 4, 8), 5, date(2026, 3, 30)),
        (date(2026, 5, 5), 1, date(2026, 5, 1)),
        (date(2026, 12, 29), 2, date(2026, 12, 23)),
        (date(2026, 12, 24), 2, date(2026, 12, 22)),
    ],
)
def test_worked_examples_over_public_holidays(starts_on, lead_days, expected):
    """Counted by hand on the printed list: the Tuesday after Easter needs a one-day remedy to start on Maundy Thursday."""
    working = WorkingDays(frozenset(range(5)), frozenset(ENGLAND_2026))
    assert fix_by(starts_on, lead_days, working) == expected


@given(st.dates(date(2026, 4, 1), date(2026, 4, 30)), st.integers(1, 10))
def test_no_fix_by_falls_on_a_public_holiday_or_a_weekend(starts_on, lead_days):
    """Nor on the slot's own day."""
    working = WorkingDays(frozenset(range(5)), frozenset(ENGLAND_2026))
    found = fix_by(starts_on, lead_days, working)
    assume(found.year == 2026)
    assert found not in ENGLAND_2026
    assert found.weekday() < 5
    assert found <= starts_on - timedelta(days=1)
