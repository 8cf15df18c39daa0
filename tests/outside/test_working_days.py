"""Fix-by days against numpy's business-day calendar and a printed list of public holidays."""

from datetime import date, timedelta

import holidays
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from intake.triage.answers import WorkingDays
from intake.triage.deadlines import add_working_days, fix_by, is_working_day
from sessions.models import Studio
from sessions.selectors.closures import closed_within, public_holidays
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


# Bank holidays in England and Wales as published at https://www.gov.uk/bank-holidays; from memory, and held here against the
# holidays library.
ENGLAND_2026 = {
    date(2026, 1, 1): "New Year's Day",
    date(2026, 4, 3): "Good Friday",
    date(2026, 4, 6): "Easter Monday",
    date(2026, 5, 4): "Early May bank holiday",
    date(2026, 5, 25): "Spring bank holiday",
    date(2026, 8, 31): "Summer bank holiday",
    date(2026, 12, 25): "Christmas Day",
    date(2026, 12, 28): "Boxing Day (substitute day)",
}
ENGLAND_2027 = {
    date(2027, 1, 1): "New Year's Day",
    date(2027, 3, 26): "Good Friday",
    date(2027, 3, 29): "Easter Monday",
    date(2027, 5, 3): "Early May bank holiday",
    date(2027, 5, 31): "Spring bank holiday",
    date(2027, 8, 30): "Summer bank holiday",
    date(2027, 12, 27): "Christmas Day (substitute day)",
    date(2027, 12, 28): "Boxing Day (substitute day)",
}
# Federal holidays of the United States by the rules of 5 U.S.C. 6103 and Executive Order 11582 (a Saturday's is kept on the Friday, a
# Sunday's on the Monday), as the Office of Personnel Management lists them; worked out by hand from the rules.
FEDERAL_2026 = {
    date(2026, 1, 1): "New Year's Day",
    date(2026, 1, 19): "Birthday of Martin Luther King, Jr., third Monday of January",
    date(2026, 2, 16): "Washington's Birthday, third Monday of February",
    date(2026, 5, 25): "Memorial Day, last Monday of May",
    date(2026, 6, 19): "Juneteenth National Independence Day",
    date(2026, 7, 3): "Independence Day, a Saturday",
    date(2026, 9, 7): "Labor Day, first Monday of September",
    date(2026, 10, 12): "Columbus Day, second Monday of October",
    date(2026, 11, 11): "Veterans Day",
    date(2026, 11, 26): "Thanksgiving Day, fourth Thursday of November",
    date(2026, 12, 25): "Christmas Day",
}
FEDERAL_2027 = {
    date(2027, 1, 1): "New Year's Day",
    date(2027, 1, 18): "Birthday of Martin Luther King, Jr.",
    date(2027, 2, 15): "Washington's Birthday",
    date(2027, 5, 31): "Memorial Day",
    date(2027, 6, 18): "Juneteenth National Independence Day, a Saturday",
    date(2027, 7, 5): "Independence Day, a Sunday",
    date(2027, 9, 6): "Labor Day",
    date(2027, 10, 11): "Columbus Day",
    date(2027, 11, 11): "Veterans Day",
    date(2027, 11, 25): "Thanksgiving Day",
    date(2027, 12, 24): "Christmas Day, a Saturday",
    date(2027, 12, 31): "New Year's Day of 2028, a Saturday",
}
# Bavaria by Art. 1 of its Feiertagsgesetz; from memory. The Assumption (15 August) is kept in most of its communities only.
BAVARIA_2026 = {
    date(2026, 1, 1): "Neujahr",
    date(2026, 1, 6): "Heilige Drei Könige",
    date(2026, 4, 3): "Karfreitag",
    date(2026, 4, 6): "Ostermontag",
    date(2026, 5, 1): "Tag der Arbeit",
    date(2026, 5, 14): "Christi Himmelfahrt",
    date(2026, 5, 25): "Pfingstmontag",
    date(2026, 6, 4): "Fronleichnam",
    date(2026, 12, 25): "Weihnachten",
}
PRINTED = {
    ("GB", "ENG"): ENGLAND_2026 | ENGLAND_2027,
    ("US", ""): FEDERAL_2026 | FEDERAL_2027,
    ("DE", "BY"): BAVARIA_2026,
}


def on_weekdays(found):
    """Those that fall on a Monday to Friday."""
    return {day for day in found if day.weekday() < 5}


@pytest.mark.parametrize(("country", "region"), PRINTED)
def test_a_studios_closed_days_are_the_printed_holidays(country, region):
    """Every weekday that is off, and no other, by what the diary and the deadlines use."""
    printed = PRINTED[country, region]
    studio = Studio(country=country, region=region)
    assert on_weekdays(public_holidays(studio, {day.year for day in printed})) == set(printed)


def test_scotland_keeps_other_days_than_england():
    """The second of January and Saint Andrew's Day, but no Easter Monday (https://www.gov.uk/bank-holidays; from memory)."""
    scotland, england = (public_holidays(Studio(country="GB", region=region), [2026]) for region in ("SCT", "ENG"))
    assert {date(2026, 1, 2), date(2026, 8, 3), date(2026, 11, 30)} <= scotland - england
    assert {date(2026, 4, 6), date(2026, 8, 31)} <= england - scotland


@pytest.mark.parametrize(("country", "region"), PRINTED)
def test_lead_times_over_printed_holidays_are_numpys(country, region):
    """Every day of a year, with lead times up to a fortnight: our closures in our arithmetic, the printed list in numpy's."""
    printed = PRINTED[country, region]
    ours = WorkingDays(frozenset(range(5)), closed_within(Studio(country=country, region=region), [], *SPAN))
    theirs = np.busdaycalendar(holidays=sorted(printed))
    for offset in range(60, 300):
        day = date(2026, 1, 1) + timedelta(days=offset)
        for lead_days in (1, 3, 7, 10):
            expected = np.busday_offset(day, -lead_days, roll="forward", busdaycal=theirs).astype(date)
            assert fix_by(day, lead_days, ours) == expected


SPAN = (date(2026, 1, 1), date(2026, 12, 31))


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
