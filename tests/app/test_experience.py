"""Closed sessions teach: counts that add up, corrections that leave nothing behind, forecasts that reckon with them, owners' pages."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from intake.catalogue.loader import load_catalogue
from intake.models import (
    FaultExperience,
    FindingDecision,
    ForecastOutcome,
    LearningWeights,
    MonthlyLoss,
    PreVisitCheck,
    SessionLesson,
)
from intake.selectors.experience import studio_experience
from intake.selectors.triage import judge, triage_input, triage_inputs
from intake.services.experience import learn_from
from intake.slots import slots_of
from intake.triage.answers import Experience
from sessions.selectors.bench.records import bench_of
from sessions.selectors.learning.calibration import costs, first_month
from sessions.services.bench.closing import save_nothing_lost, save_time_loss
from sessions.services.bench.records import close_record, reopen_record
from tests import factories
from tests.app.bench_help import begun, closed, settle

pytestmark = pytest.mark.django_db
STUCK, FORCED = "post_slides.stuck", "post_slides.forced"
COUNTS = ("seen", "faults", "times", "mean_log", "squares_log")
EXPERIENCE, CALIBRATION = "learning:experience", "learning:calibration"


@pytest.fixture
def owner_client(client, owner_user):
    """A browser in which the owner is logged in."""
    client.force_login(owner_user)
    return client


def session_of(studio):
    """A further session of a further rider."""
    return factories.FitSessionFactory(studio=studio, occupancy=False)


def counts(key=STUCK):
    """What was counted of one fault."""
    return FaultExperience.objects.filter(finding_key=key).values_list(*COUNTS).first()


def all_counts():
    """Everything that was counted, but for rows that count nothing."""
    faults = FaultExperience.objects.exclude(seen=0, times=0).values_list("finding_key", *COUNTS)
    losses = MonthlyLoss.objects.exclude(times=0).order_by("finding_key").values()
    return list(faults), [{k: v for k, v in row.items() if k != "id"} for row in losses]


def close_with(fit_session, nothing=False, **losses):
    """Close a session whose bench noted these minutes."""
    record = begun(fit_session)
    for key, minutes in losses.items():
        save_time_loss(record=record, finding_key=key.replace("__", ".").removeprefix("other"), minutes=minutes)
    if nothing:
        save_nothing_lost(record=record, said=True)
    return closed(record)


def test_a_closed_session_teaches(fit_session):
    """What took time was there, what reached the bench and took nothing was not; the lesson says what was contributed."""
    factories.TriageSnapshotFactory(pre_visit=fit_session.pre_visit, moment="day", verdict="ask_rider")
    close_with(fit_session, post_slides__stuck=10, other=5)
    assert counts()[:3] == (1, 1, 1)
    assert counts(FORCED)[:3] == (1, 0, 0)
    lesson = SessionLesson.objects.get()
    assert lesson.observed[STUCK] == 1
    assert lesson.losses == [[STUCK, 10, "not_answered"]]
    outcome = ForecastOutcome.objects.get()
    assert (outcome.lost_min, outcome.other_min, outcome.verdict) == (10, 5, "ask_rider")
    # The forecast gave 10 minutes one half, and nothing less than 10 the other.
    assert (outcome.pit_low, outcome.pit_high, outcome.within90) == (0.5, 1.0, True)
    assert outcome.crps == pytest.approx(10 * 0.25)
    month = MonthlyLoss.objects.get()
    assert (month.finding_key, month.times, month.not_answered_min) == (STUCK, 1, 10)
    assert month.month == fit_session.starts_at.date().replace(day=1)


def test_nothing_said_teaches_nothing(fit_session, studio):
    """Nobody knows what was there; that nothing ate time is something said."""
    close_with(fit_session)
    assert not FaultExperience.objects.exists()
    assert not SessionLesson.objects.exists()
    close_with(session_of(studio), nothing=True)
    assert counts()[:2] == (1, 0)
    assert not MonthlyLoss.objects.exists()


def test_closing_again_unchanged_changes_nothing(fit_session):
    """A lesson counts once, however often it is told."""
    record = close_with(fit_session, post_slides__stuck=25)
    before = all_counts()
    for _again in range(2):
        learn_from(pre_visit=fit_session.pre_visit, lost_min={STUCK: 25})
    reopen_record(record=record, by=None, note="typo")
    close_record(record=bench_of(fit_session.pk).record, by=None)
    assert all_counts() == before
    assert SessionLesson.objects.count() == 1


def test_a_correction_takes_the_old_away(fit_session, studio):
    """As if the corrected session had been closed so from the start; without anything said, as if it never was."""
    factories.TriageSnapshotFactory(pre_visit=fit_session.pre_visit, moment="day")
    close_with(session_of(studio), post_slides__stuck=40, lever_tips__differ=15)
    alone = all_counts()
    record = close_with(fit_session, post_slides__stuck=25, saddle_shell__sunk=20)
    reopen_record(record=record, by=None, note="it was the other one")
    again = bench_of(fit_session.pk).record
    save_time_loss(record=again, finding_key=STUCK, minutes=0)
    save_time_loss(record=again, finding_key=FORCED, minutes=30)
    close_record(record=again, by=None)
    assert counts()[:3] == (2, 1, 1)
    assert counts(FORCED)[:3] == (2, 1, 1)
    assert fit_session.pre_visit.lesson.outcome.lost_min == 50
    learn_from(pre_visit=fit_session.pre_visit, lost_min=None)
    faults, losses = all_counts()
    for found, expected in zip(faults, alone[0], strict=True):
        assert found[:4] == expected[:4]
        assert found[4:] == pytest.approx(expected[4:], abs=1e-9)
    assert losses == alone[1]
    assert ForecastOutcome.objects.get().lost_min == 55


def test_a_ruling_changes_what_was_there(fit_session):
    """Accepted and doubtful: nobody can know; what the core says, row by row, is tested there."""
    pre_visit = fit_session.pre_visit
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="post_slides", option="unsure")
    FindingDecision.objects.create(pre_visit=pre_visit, finding_key=STUCK, ruling="fixed")
    close_with(fit_session, nothing=True)
    assert counts()[:2] == (1, 1)


def test_forgetting_a_rider_keeps_only_counts(fit_session, owner_client):
    """The lesson goes with the rider; no row that stays names them, and the counts are as they were."""
    factories.TriageSnapshotFactory(pre_visit=fit_session.pre_visit, moment="day")
    close_with(fit_session, post_slides__stuck=25)
    before = all_counts()
    url = reverse("admin:intake_client_delete", args=[fit_session.client_id])
    assert owner_client.post(url, {"post": "yes"}).status_code == 302
    assert not PreVisitCheck.objects.exists()
    assert not SessionLesson.objects.exists()
    assert all_counts() == before
    assert ForecastOutcome.objects.count() == 1
    for model in (FaultExperience, MonthlyLoss, ForecastOutcome):
        assert not [field for field in model._meta.get_fields() if field.many_to_one or field.many_to_many]


def test_forecasts_reckon_with_it(fit_session, django_assert_num_queries):
    """One query, and none more for many sessions; without experience the catalogue's own forecast to the last digit."""
    pre_visit, catalogue = fit_session.pre_visit, load_catalogue()
    assert studio_experience(catalogue) == Experience()
    before = judge(triage_input(pre_visit, slots_of([pre_visit.pk])[pre_visit.pk], catalogue))
    FaultExperience.objects.create(finding_key=STUCK, seen=60, faults=55, times=40, mean_log=4.0, squares_log=2.0)
    with django_assert_num_queries(1):
        learned = studio_experience(catalogue)
    assert learned.rates[STUCK] > 0.6
    assert learned.minutes[STUCK].median_min == pytest.approx(54, rel=0.1)
    after = judge(triage_input(pre_visit, slots_of([pre_visit.pk])[pre_visit.pk], catalogue))
    assert after.forecast.expected_min > before.forecast.expected_min + 20
    assert after.forecast.chance < before.forecast.chance
    slots = slots_of([pre_visit.pk])
    with django_assert_num_queries(5):
        triage_inputs([pre_visit], slots, catalogue)


def test_weights_hold_for_forecasts(fit_session, owner_client):
    """Heavier estimates move less; the owner sets them on the page."""
    FaultExperience.objects.create(finding_key=STUCK, seen=20, faults=20)
    light = studio_experience().rates[STUCK]
    path = reverse("learning:weights")
    assert owner_client.post(path, {"sessions": "200", "faults": "4"}).status_code == 302
    assert studio_experience().rates[STUCK] < light / 2
    owner_client.post(path, {"sessions": "200", "faults": "4"})
    assert LearningWeights.objects.count() == 1


@pytest.mark.parametrize("typed", ["", "0", "-3", "1001", "9" * 400, "NaN", "1.5", "ten", "\x00", "٣٫٥", "<script>"])
def test_absurd_weights_are_refused_beside_their_field(owner_client, typed):
    """422, as typed, nothing kept."""
    response = owner_client.post(reverse("learning:weights"), {"sessions": typed, "faults": "7"})
    assert response.status_code == 422
    assert "Type a whole number from 1 to 1000." in response.content.decode()
    assert 'value="7"' in response.content.decode()
    assert not LearningWeights.objects.exists()


def test_the_rows_refuse_what_cannot_be(db):
    """On either database."""
    for row in (
        FaultExperience(finding_key="a.b", seen=1, faults=2),
        FaultExperience(finding_key="a.b", squares_log=-1),
        MonthlyLoss(month=date(2026, 3, 2), finding_key="a.b"),
        LearningWeights(pk=2),
        LearningWeights(pk=1, sessions=0),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            row.save()


def outcomes(count, **given):
    """So many sessions that went as forecast."""
    values = {"month": date(2026, 3, 1), "verdict": "clear", "planned_min": 90, "slack_min": 15, "lost_min": 0}
    values |= {"pit_low": 0, "pit_high": 0.6, "crps": 2, "crps_prior": 4, "within90": True, "band_chance": 0.95}
    ForecastOutcome.objects.bulk_create(ForecastOutcome(**values | {"chance": 0.9} | given) for _ in range(count))


def test_the_pages_before_anything_was_learned(owner_client):
    """Every figure is the catalogue's, and that is said."""
    assert "No closed session has taught anything yet" in owner_client.get(reverse(EXPERIENCE)).content.decode()
    page = owner_client.get(reverse(CALIBRATION)).content.decode()
    assert "No session has been closed yet" in page
    assert "No minutes were lost" in page


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (1, "1 session: too few to say"),
        (12, "12 sessions: too few to say"),
        (60, "enough for coarse"),
        (120, "120 sessions."),
    ],
)
def test_small_numbers_are_called_small(owner_client, count, said):
    """Honest words, and the picture with its table."""
    outcomes(count)
    page = owner_client.get(reverse(CALIBRATION)).content.decode()
    assert said in page
    assert "Experience made it 50 % better." in page
    assert "<svg" in page
    assert "The same as a table" in page


def test_a_fault_that_moved_most_stands_first(owner_client):
    """Sorted as asked; an unknown order is the usual one."""
    FaultExperience.objects.create(finding_key=STUCK, seen=60, faults=55, times=40, mean_log=4.0, squares_log=2.0)
    for sort, first in (("moved", "Seatpost stuck"), ("", "Seatpost stuck"), ("\x00halo", "Seatpost stuck")):
        page = owner_client.get(reverse(EXPERIENCE), {"sort": sort}).content.decode()
        assert page.index("Seatpost stuck") == min(page.index(one) for one in (first, "Levers at different heights"))
    listed = owner_client.get(reverse(EXPERIENCE), {"sort": "bike"}).content.decode()
    assert listed.index("Bike too dirty") < listed.index("Seatpost stuck")
    assert "55 of 60" in listed


def test_the_pages_cost_the_same_however_much_was_learned(owner_client, django_assert_max_num_queries):
    """Constant queries, with everything learned and with nothing."""
    for _round in range(2):
        with django_assert_max_num_queries(5):
            owner_client.get(reverse(EXPERIENCE))
        with django_assert_max_num_queries(6):
            owner_client.get(reverse(CALIBRATION))
        for check in load_catalogue().checks:
            for fault in check.faults:
                FaultExperience.objects.get_or_create(finding_key=f"{check.key}.{fault.key}", seen=5, faults=1)
        outcomes(50)


def test_what_cost_most_is_summed_over_three_months():
    """This month and the two before it; ten rows, the rest in the sum; each minute in one column."""
    for number in range(12):
        MonthlyLoss.objects.create(
            month=date(2026, 3, 1), finding_key=f"k.{number}", times=1, told_in_time_min=number, not_shown_min=1
        )
    MonthlyLoss.objects.create(month=date(2026, 2, 1), finding_key="k.11", times=2, planned_min=50)
    MonthlyLoss.objects.create(month=date(2025, 12, 1), finding_key="k.0", times=9, planned_min=500)
    found = costs(date(2026, 3, 31))
    assert found.since == first_month(date(2026, 3, 1)) == date(2026, 1, 1)
    assert [(row.title, row.total, row.times) for row in found.rows[:2]] == [("k.11", 62, 3), ("k.10", 11, 1)]
    assert len(found.rows) == 10
    assert found.total.minutes["told_in_time"] == sum(range(12))
    assert found.saved_pct == pytest.approx(100 * 66 / (66 + 12 + 50))


@pytest.mark.parametrize("name", [EXPERIENCE, CALIBRATION])
def test_only_owners_see_them(fitter_client, name):
    """Other staff are told that it is not theirs."""
    assert fitter_client.get(reverse(name)).status_code == 403


def test_a_session_teaches_in_a_fixed_number_of_queries(studio, django_assert_num_queries):
    """However many taught before, and however much it lost."""
    for count in (0, 200):
        MonthlyLoss.objects.bulk_create(
            MonthlyLoss(month=date(2025, 1, 1), finding_key=f"{count}.{number}") for number in range(count)
        )
        fit_session = session_of(studio)
        with django_assert_num_queries(20):
            learn_from(pre_visit=fit_session.pre_visit, lost_min={STUCK: 20, "saddle_shell.sunk": 10})


@pytest.mark.django_db(transaction=True)
def test_closings_at_once_lose_no_counts(studio):
    """Eight benches close in the same moment; every session is counted once."""
    records = [begun(session_of(studio)) for _number in range(8)]
    for record in records:
        settle(record)
        save_time_loss(record=record, finding_key=STUCK, minutes=20)

    def close(record):
        try:
            close_record(record=bench_of(record.fit_session_id).record, by=None)
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(close, records))
    assert counts()[:3] == (8, 8, 8)
    assert MonthlyLoss.objects.get(finding_key=STUCK).times == 8
