"""What the triage said at booking, three days before and on the day is kept once, at its time, and cheaply."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from intake.models import Bike, Client, PreVisitCheck, SnapshotMoment, TriageSnapshot, TriageSummary
from intake.selectors import triage as selectors
from intake.services import snapshots
from intake.services import triage as services
from intake.services.snapshots import due_moments, forget_undue, keep_booked, keep_due, keep_snapshot
from intake.services.triage import BATCH, refresh_many
from intake.slots import slot_of
from intake.triage.answers import Experience, Slot, WorkingDays
from sessions.models import FitSession
from sessions.services.bench.records import begin_record, take_back_start
from sessions.services.booking.moves import move_session
from sessions.services.review.moments import MOST_AT_ONCE, keep_due_moments
from tests import factories

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)  # a Monday


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


def a_session(studio, days, **given):
    """A session so many days from now."""
    return factories.FitSessionFactory(studio=studio, starts_at=NOW + timedelta(days=days), occupancy=False, **given)


def kept(fit_session=None):
    """The moments that were kept, of one session or of all."""
    rows = TriageSnapshot.objects.order_by("pk")
    rows = rows.filter(pre_visit=fit_session.pre_visit_id) if fit_session else rows
    return list(rows.values_list("moment", flat=True))


@pytest.mark.parametrize(
    ("days_left", "due"),
    [(4, []), (3, ["three_days"]), (1, ["three_days"]), (0, ["three_days", "day"]), (-1, ["three_days", "day"])],
)
def test_moments_fall_due_by_the_calendar(days_left, due):
    """Three days before, and on the day; what has passed stays due."""
    today = date(2026, 3, 2)
    slot = Slot(90, 15, frozenset(), today + timedelta(days=days_left), today, WorkingDays(frozenset(range(5))))
    assert due_moments(slot) == due


def test_a_snapshot_holds_what_the_triage_said(studio):
    """Each figure is the core's own; the distribution adds up; without experience the prior is the same."""
    pre_visit = a_session(studio, 9).pre_visit
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="post_slides", option="stuck")
    keep_snapshot(pre_visit, SnapshotMoment.BOOKING)
    row, result = TriageSnapshot.objects.get(), services.refresh_summary(pre_visit)
    assert (row.verdict, row.stopped) == (result.verdict.value, result.stopped)
    assert row.readiness_pct == pytest.approx(result.forecast.readiness_pct)
    assert row.chance_to_plan == pytest.approx(result.forecast.chance)
    assert row.expected_bench_min == pytest.approx(result.forecast.expected_min)
    assert (row.planned_min, row.slack_min) == (result.forecast.planned_min, result.forecast.slack_min)
    assert row.forecast == pytest.approx(result.forecast.pmf.tolist(), abs=1e-9)
    assert sum(row.forecast) == pytest.approx(1, abs=1e-6)
    assert row.prior_forecast == row.forecast
    assert row.taken_at == NOW


def test_the_prior_leaves_experience_aside(studio, monkeypatch):
    """What the studio has learned moves the forecast, not the prior."""
    pre_visit = a_session(studio, 9).pre_visit
    keep_snapshot(pre_visit, SnapshotMoment.BOOKING)
    learned = Experience(rates={"post_slides.stuck": 0.9})
    given = snapshots.triage_inputs

    def with_experience(*args):
        return {pk: replace(each, experience=learned) for pk, each in given(*args).items()}

    monkeypatch.setattr(snapshots, "triage_inputs", with_experience)
    keep_snapshot(pre_visit, SnapshotMoment.DAY)
    before, after = TriageSnapshot.objects.order_by("pk")
    assert after.prior_forecast == pytest.approx(before.forecast)
    assert after.forecast[0] < before.forecast[0]


def test_a_moment_is_kept_once(studio):
    """By the service, and by the database."""
    pre_visit = a_session(studio, 9).pre_visit
    for _again in range(2):
        keep_snapshot(pre_visit, SnapshotMoment.BOOKING)
    assert kept() == ["booking"]
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.TriageSnapshotFactory(pre_visit=pre_visit)


def test_two_workers_at_once_keep_the_first_ones(studio, monkeypatch):
    """The second has looked before the first wrote: nothing fails, nothing is written over."""
    pre_visit = a_session(studio, 0.2).pre_visit
    assert keep_due([pre_visit]) == 2
    first = list(TriageSnapshot.objects.values())
    monkeypatch.setattr(snapshots, "_kept", lambda ids: {pk: set() for pk in ids})
    keep_due([pre_visit])
    assert list(TriageSnapshot.objects.values()) == first


@pytest.mark.parametrize(
    ("days", "expected"),
    [(9, ["booking"]), (2, ["booking", "three_days"]), (0.2, ["booking", "day", "three_days"])],
)
def test_a_late_booking_has_the_later_moments_at_once(studio, days, expected):
    """There is no later time at which they could be taken."""
    keep_booked(a_session(studio, days).pre_visit)
    assert sorted(kept()) == expected


def test_the_sweep_keeps_each_moment_at_its_time(studio):
    """Three weeks of a clock, looked at every six hours."""
    fit_session = a_session(studio, 10)
    taken = []
    for hours in range(0, 21 * 24, 6):
        with time_machine.travel(NOW + timedelta(hours=hours)):
            taken += [(hours // 24, keep_due_moments())]
    assert [each for each in taken if each[1]] == [(6, 1), (9, 1)]
    rows = TriageSnapshot.objects.order_by("pk").values_list("moment", "taken_at__date")
    assert list(rows) == [("three_days", date(2026, 3, 9)), ("day", date(2026, 3, 12))]
    assert kept(fit_session) == ["three_days", "day"]


def test_the_day_is_the_studios_own(studio):
    """Late on Monday in London it is Tuesday in Auckland: a session there on Friday is three days away already."""
    far = factories.studio_with_hours(time_zone="Pacific/Auckland")
    friday = datetime(2026, 3, 5, 21, 0, tzinfo=UTC)  # Friday morning in Auckland
    there = factories.FitSessionFactory(studio=far, starts_at=friday, occupancy=False)
    here = factories.FitSessionFactory(studio=studio, starts_at=friday + timedelta(hours=12), occupancy=False)
    with time_machine.travel(datetime(2026, 3, 2, 20, 0, tzinfo=UTC)):
        assert keep_due_moments() == 1
    assert (kept(there), kept(here)) == (["three_days"], [])


@pytest.mark.parametrize("state", ["cancelled", "no_show", "done", "under_way"])
def test_nothing_is_kept_of_what_is_no_longer_coming(studio, state):
    """The bench keeps the day's moment itself."""
    a_session(studio, 1, state=state)
    assert keep_due_moments() == 0


def test_a_moved_session_has_its_moments_taken_anew(studio):
    """What was said three days before a day on which nothing was held says nothing about the day on which it is."""
    fit_session = factories.FitSessionFactory(studio=studio, starts_at=NOW + timedelta(hours=4))
    keep_booked(fit_session.pre_visit)
    assert sorted(kept()) == ["booking", "day", "three_days"]
    later = fit_session.starts_at + timedelta(days=2)
    move_session(fit_session=fit_session, new_start=later, by=None)
    assert sorted(kept()) == ["booking", "three_days"]
    fit_session.refresh_from_db()
    move_session(fit_session=fit_session, new_start=later + timedelta(days=7), by=None)
    assert kept() == ["booking"]


def test_the_bench_keeps_the_day_at_the_latest(studio, fitter_user):
    """Also where no worker ran, or the session is held on another day; a start by mistake is forgotten."""
    fit_session = a_session(studio, 5)
    begin_record(fit_session=fit_session, by=fitter_user)
    begin_record(fit_session=fit_session, by=fitter_user)
    assert kept() == ["day"]
    take_back_start(fit_session=fit_session, by=fitter_user)
    assert kept() == []


def test_forgetting_leaves_what_is_due(studio):
    """Only the days that are yet to come are taken again."""
    pre_visit = a_session(studio, 2).pre_visit
    for moment in SnapshotMoment:
        factories.TriageSnapshotFactory(pre_visit=pre_visit, moment=moment)
    forget_undue(pre_visit)
    assert kept() == ["booking", "three_days"]


def test_a_deleted_rider_takes_the_moments_along(studio):
    """They are the rider's."""
    fit_session = a_session(studio, 9)
    keep_booked(fit_session.pre_visit)
    fit_session.client.delete()
    assert kept() == []


def test_a_sweep_with_nothing_due_costs_two_queries(studio, django_assert_num_queries):
    """It runs once a minute."""
    a_session(studio, 9)
    with django_assert_num_queries(2):
        assert keep_due_moments() == 0


def bulk(studio, count, days):
    """So many coming sessions, written in a few statements."""
    service, fitter, bay = studio.services.get(), studio.fitters.first(), studio.bays.first()
    clients = Client.objects.bulk_create(Client(name=f"R {n}", email=f"r{n}@tarnfell.example") for n in range(count))
    bikes = Bike.objects.bulk_create(Bike(client=each, name="Road bike", kind="road") for each in clients)
    checks = PreVisitCheck.objects.bulk_create(PreVisitCheck(client=each.client, bike=each) for each in bikes)
    start, end = NOW + timedelta(days=days), NOW + timedelta(days=days, hours=2)
    given = {"studio": studio, "service": service, "fitter": fitter, "bay": bay, "planned_min": 90, "slack_min": 15}
    FitSession.objects.bulk_create(
        FitSession(client=each.client, bike=each.bike, pre_visit=each, starts_at=start, ends_at=end, **given)
        for each in checks
    )
    return checks


@pytest.fixture
def judged_once(studio, monkeypatch):
    """One real triage that stands in for all: these tests count queries, and judging asks the database nothing."""
    pre_visit = a_session(studio, 30).pre_visit
    given = selectors.triage_input(pre_visit, slot_of(pre_visit.pk), services.current_catalogue())
    result = selectors.judge(given)
    for module in (services, snapshots):
        monkeypatch.setattr(module, "judge", lambda _given: result)


def queries(work):
    """How many queries it takes, and what it returns."""
    with CaptureQueriesContext(connection) as captured:
        answer = work()
    return len(captured), answer


def test_a_hundred_moments_cost_no_more_queries_than_one(studio, judged_once):
    """As far as one look goes; the rest waits for the next, a minute later."""
    bulk(studio, 1, days=1)
    few, _one = queries(keep_due_moments)
    bulk(studio, 100, days=1)
    many, count = queries(keep_due_moments)
    assert (many, count) == (few, MOST_AT_ONCE)
    assert [keep_due_moments(), keep_due_moments(), keep_due_moments()] == [MOST_AT_ONCE, 100 - 2 * MOST_AT_ONCE, 0]


def test_each_batch_of_a_thousand_costs_the_queries_of_each_batch_of_a_hundred(studio, judged_once):
    """Locks are short and memory flat: batch after batch, each in as many queries as any other."""
    checks = bulk(studio, 1000, days=9)
    refresh_many(checks[:1])  # whatever is asked once only
    few, judged = queries(lambda: refresh_many(checks[:100]))
    assert len(judged) == 100
    many, judged = queries(lambda: refresh_many(checks))
    assert len(judged) == TriageSummary.objects.count() == 1000
    assert many / -(-1000 // BATCH) == few / -(-100 // BATCH)
