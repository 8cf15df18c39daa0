"""Reminders against a published trial of their days, and against numpy's calendar of working days."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from intake.chasing.occasions import Kind, Outlook, chase_days, occasions
from intake.triage.answers import WorkingDays

# Steiner et al. 2018, Am J Manag Care 24:377–384: a randomised trial with 54 066 appointments. Missed: 4.4 % with reminders three
# days and one day before, 5.3 % with one day alone, 5.8 % with three days alone. Health services; by analogy only.
MISSED_PCT = {(3, 1): 4.4, (1,): 5.3, (3,): 5.8}
# England and Wales 2026, from memory, as listed at https://www.gov.uk/bank-holidays: Good Friday, Easter Monday, early May, spring,
# summer, Christmas, Boxing Day (in lieu).
HOLIDAYS = [date(2026, m, d) for m, d in ((4, 3), (4, 6), (5, 4), (5, 25), (8, 31), (12, 25), (12, 28))]
MONDAY_TO_FRIDAY = WorkingDays(frozenset(range(5)), frozenset(HOLIDAYS))


def test_the_session_is_reminded_of_on_the_days_of_the_best_arm():
    """Three days and one day before."""
    start = date(2026, 3, 20)
    outlook = Outlook(start, date(2026, 2, 2), MONDAY_TO_FRIDAY, lead_days=5, silent=False)
    days = tuple((start - each.day).days for each in occasions(outlook))
    assert days == min(MISSED_PCT, key=MISSED_PCT.__getitem__)


@pytest.mark.parametrize(
    ("start", "lead_days", "first", "second"),
    [
        # Thursday 9 April after Easter: a week's work (5 days) begins on Tuesday 31 March, since Good Friday and Easter Monday are none.
        (date(2026, 4, 9), 5, date(2026, 3, 25), date(2026, 3, 30)),
        # Wednesday 6 May: two days' work begin on Friday 1 May, the Monday being a holiday.
        (date(2026, 5, 6), 2, date(2026, 4, 27), date(2026, 4, 30)),
    ],
)
def test_bank_holidays_count(start, lead_days, first, second):
    """By hand, on the printed calendar."""
    assert chase_days(Outlook(start, date(2026, 1, 5), MONDAY_TO_FRIDAY, lead_days, silent=True)) == (first, second)


@drawn(st.dates(date(2026, 2, 2), date(2026, 12, 24)), st.integers(1, 10))
def test_requests_for_the_check_agree_with_numpys_working_days(start, lead_days):
    """First: lead + 4 working days before the session's day; second: lead + 1."""
    outlook = Outlook(start, start - timedelta(days=300), MONDAY_TO_FRIDAY, lead_days, silent=True)
    calendar = {"weekmask": "1111100", "holidays": HOLIDAYS}
    expected = [
        np.busday_offset(np.busday_offset(start, 0, roll="forward", **calendar), -lead_days - before, **calendar)
        for before in (4, 1)
    ]
    assert list(chase_days(outlook)) == [day.astype(object) for day in expected]
    asked = [each.kind for each in occasions(outlook) if each.kind in {Kind.CHASE, Kind.CHASE_AGAIN}]
    assert asked[:1] == [Kind.CHASE]
