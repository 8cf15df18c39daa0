"""Fix-by days, and what hangs on them."""

from datetime import date, timedelta

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from intake.catalogue.schema import COULD_NOT, Adjustment, Hazard
from intake.triage.agenda import LateChoice, late_options
from intake.triage.answers import Ruling, WorkingDays
from intake.triage.deadlines import add_working_days, dated_remedies, fix_by, is_working_day
from intake.triage.engine import triage
from intake.triage.errors import LeadTimeError, NoWorkingDayError
from tests import strategies
from tests.core.catalogues import REMEDIES, TWO_WEEKS_BEFORE, WEDNESDAY, WEEKDAYS, check, fault, given, maybe, slot

FRIDAY_BEFORE = date(2026, 3, 13)
MONDAY = date(2026, 3, 16)
leads = st.integers(0, 30)


@pytest.mark.parametrize(
    ("lead_days", "expected"),
    [
        (0, WEDNESDAY),
        (1, date(2026, 3, 17)),
        (2, MONDAY),
        (3, FRIDAY_BEFORE),
        (5, date(2026, 3, 11)),
        (8, date(2026, 3, 6)),
    ],
)
def test_fix_by_counts_back_over_the_weekend(lead_days, expected):
    """From a Wednesday, by hand."""
    assert fix_by(WEDNESDAY, lead_days, WEEKDAYS) == expected


def test_closures_are_skipped_like_weekends():
    """Closed on Tuesday and Monday: one day of work starts on Friday."""
    closed = WorkingDays(frozenset(range(5)), frozenset({date(2026, 3, 17), MONDAY}))
    assert fix_by(WEDNESDAY, 1, closed) == FRIDAY_BEFORE
    assert add_working_days(FRIDAY_BEFORE, 1, closed) == WEDNESDAY


def test_a_slot_on_a_day_off_counts_from_the_day_before():
    """A Saturday session: one working day is the Friday."""
    assert fix_by(date(2026, 3, 14), 1, WEEKDAYS) == FRIDAY_BEFORE


@drawn(strategies.days, leads, strategies.working_days)
def test_the_first_day_that_fits_is_the_least_day_whose_fix_by_is_not_past(today, lead_days, working_days):
    """Counting forward and counting back agree on any calendar."""
    ready = add_working_days(today, lead_days, working_days)
    assert fix_by(ready, lead_days, working_days) >= today
    earlier = [ready - timedelta(days=n) for n in range(1, (ready - today).days + 1)]
    fitting = [
        day for day in earlier if is_working_day(day, working_days) and fix_by(day, lead_days, working_days) >= today
    ]
    assert fitting == []


@drawn(strategies.days, leads, strategies.working_days)
def test_a_longer_remedy_never_starts_later(starts_on, lead_days, working_days):
    """One more day of lead is at least one day earlier, and on a working day."""
    shorter, longer = fix_by(starts_on, lead_days, working_days), fix_by(starts_on, lead_days + 1, working_days)
    assert longer < shorter
    assert is_working_day(longer, working_days)


@pytest.mark.parametrize("count", [fix_by, add_working_days])
def test_what_cannot_be_counted_is_refused(count):
    """Negative lead times, a studio that never opens, and the ends of the calendar."""
    with pytest.raises(LeadTimeError):
        count(WEDNESDAY, -1, WEEKDAYS)
    for never in (WorkingDays(frozenset()), WorkingDays(frozenset({7}))):
        with pytest.raises(NoWorkingDayError):
            count(WEDNESDAY, 1, never)
    edge = date.min if count is fix_by else date.max
    with pytest.raises(NoWorkingDayError):
        count(edge, 5, WEEKDAYS)


def test_a_remedy_is_late_the_day_after_its_fix_by():
    """Not on the day itself."""
    on_the_day = dated_remedies(REMEDIES, slot(today=date(2026, 3, 11)))["workshop"]
    day_after = dated_remedies(REMEDIES, slot(today=date(2026, 3, 12)))["workshop"]
    assert (on_the_day.fix_by, on_the_day.late) == (date(2026, 3, 11), False)
    assert (day_after.fix_by, day_after.late) == (date(2026, 3, 11), True)
    assert day_after.first_ready_on == date(2026, 3, 19)


# ── The desk's agenda ────────────────────────────────────────────────────────────────────────────────────────────────────

HEIGHT = Adjustment.SADDLE_HEIGHT
POST = check(
    "post",
    fault("stuck", minutes=(40, 100), locks=[HEIGHT], remedies=("workshop", "grease")),
    options=(maybe("creaks", stuck=0.3),),
)
CLEATS = check("cleats", fault("worn", minutes=(3, 5), remedies=("new_cleats",)))
CRASH = check("crash", fault("fall", minutes=None, hazard=Hazard.DO_NOT_RIDE, remedies=("workshop",)))
PAIN = check("pain", fault("chest", minutes=None, hazard=Hazard.EMERGENCY, remedies=("bench",)))


def due(*checks, today=TWO_WEEKS_BEFORE, rulings=None, **answers):
    """When the desk must decide."""
    return triage(given(*checks, answers=answers, slot=slot(today=today), rulings=rulings or {})).decision_due


def test_a_clear_session_waits_for_no_decision():
    """Nothing to decide, nothing to be ready for."""
    found = triage(given(POST, answers={"post": "fine"}))
    assert (found.decision_due, found.first_ready_on, found.extend_min) == (None, None, 0)


def test_the_decision_is_due_when_the_first_way_closes():
    """A week's work must start on the 11th; after that the next way sets the day; when none is left it is today."""
    assert due(POST, post="stuck") == date(2026, 3, 11)
    assert due(POST, post="stuck", today=date(2026, 3, 11)) == date(2026, 3, 11)
    assert due(POST, post="stuck", today=date(2026, 3, 12)) == date(2026, 3, 17)
    assert due(POST, post="stuck", today=WEDNESDAY) == WEDNESDAY


def test_the_earliest_of_several_findings_counts():
    """Cleats alone by the 16th; with the post by the 11th."""
    assert due(CLEATS, cleats="worn") == MONDAY
    assert due(POST, CLEATS, post="stuck", cleats="worn") == date(2026, 3, 11)


@pytest.mark.parametrize("ruling", [Ruling.FIX_FIRST, Ruling.ACCEPT, Ruling.FIXED])
def test_what_is_ruled_waits_for_nobody(ruling):
    """The desk has decided."""
    assert due(POST, post="stuck", rulings={"post.stuck": ruling}) is None


def test_a_promise_that_was_overtaken_is_to_be_decided_today():
    """It was to be fixed first, and every way is late."""
    assert due(POST, post="stuck", rulings={"post.stuck": Ruling.FIX_FIRST}, today=WEDNESDAY) == WEDNESDAY


def test_bench_work_that_does_not_fit_is_to_be_decided_today():
    """The slot must grow or move, and the diary fills."""
    assert due(POST, post="stuck", rulings={"post.stuck": Ruling.STUDIO}) == TWO_WEEKS_BEFORE


def test_a_red_flag_is_for_today():
    """Whatever the bike."""
    assert due(PAIN, pain="chest") == TWO_WEEKS_BEFORE


def test_the_rider_is_to_be_asked_while_the_longest_remedy_still_fits():
    """Of what may yet be found, hazards included."""
    assert due(POST, post="creaks") == date(2026, 3, 11)
    assert due(CRASH) == date(2026, 3, 11)
    assert due(CRASH, crash=COULD_NOT, today=date(2026, 3, 12)) == date(2026, 3, 12)


def test_ready_when_the_slowest_of_the_quickest_remedies_is_done():
    """Each finding takes its quickest way, the session waits for all of them."""
    found = triage(given(POST, CRASH, answers={"post": "stuck", "crash": "fall"}))
    assert found.first_ready_on == date(2026, 3, 11)
    assert triage(given(POST, answers={"post": "stuck"})).first_ready_on == date(2026, 3, 5)


def test_what_has_no_remedy_sets_no_day():
    """It can be accepted or ruled on, not waited for."""
    mast = check("mast", fault("mast", locks=[HEIGHT], minutes=None, remedies=()))
    found = triage(given(mast, answers={"mast": "mast"}))
    assert (found.verdict, found.first_ready_on, found.decision_due) == ("fix_first", None, TWO_WEEKS_BEFORE)


@pytest.mark.parametrize("p90_min", [30, 45, 90])
def test_extending_by_what_is_said_is_enough_and_no_more(p90_min):
    """The chance reaches what the studio asks for, and one minute less does not."""
    slow = check("slow", fault("creaks", minutes=(25, p90_min)))
    found = triage(given(slow, answers={"slow": "creaks"}))
    longer = triage(given(slow, answers={"slow": "creaks"}, slot=slot(slack_min=15 + found.extend_min)))
    shorter = triage(given(slow, answers={"slow": "creaks"}, slot=slot(slack_min=14 + found.extend_min)))
    assert shorter.forecast.chance < 0.75 <= longer.forecast.chance
    assert longer.extend_min == 0


def test_no_extension_helps_against_days_of_work():
    """Nothing is promised."""
    endless = check("endless", fault("frame", minutes=(3000, 9000)))
    assert triage(given(endless, answers={"endless": "frame"})).extend_min is None


def late(*checks, **answers):
    """What is offered for the gravest finding on the slot's own day."""
    found = triage(given(*checks, answers=answers, slot=slot(today=WEDNESDAY)))
    return late_options(found.findings[0], found.extend_min)


def test_a_late_finding_offers_the_desk_four_ways():
    """Move, extend, do it at the bench, accept."""
    offered = late(POST, post="stuck")
    assert [each.choice for each in offered] == list(LateChoice)
    assert offered[0].move_to == date(2026, 3, 19)
    assert offered[1].extra_min > 25


def test_only_what_helps_is_offered():
    """No extension where the slack is enough, no bench work without minutes, and a hazard is never to accept."""
    assert [each.choice for each in late(CLEATS, cleats="worn")] == ["move", "at_bench", "accept"]
    assert [each.choice for each in late(CRASH, crash="fall")] == ["move"]


def test_nothing_is_offered_while_there_is_time():
    """A remedy still fits."""
    found = triage(given(POST, answers={"post": "stuck"}))
    assert late_options(found.findings[0], found.extend_min) == ()
