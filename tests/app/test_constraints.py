"""What must always be true is refused by the database itself, on SQLite and on PostgreSQL."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from intake.models import Bike, CheckAnswer, Client, Discomfort, FindingDecision, OutgoingMail, TriageSummary
from intake.models.bikes import LIMITS
from sessions.models import (
    BodyMeasure,
    Closure,
    FitRecord,
    FitSession,
    Occupancy,
    OpeningHours,
    Reading,
    SafetyEntry,
    Service,
    SlotDecision,
    SolvedPosition,
    StateChange,
    Studio,
    TimeLoss,
)
from tests import factories

pytestmark = pytest.mark.django_db


def refused(change):
    """Whether the database refuses a change."""
    try:
        with transaction.atomic():
            change()
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize("field", sorted(LIMITS))
def test_a_bike_fact_outside_what_a_bike_can_have_is_refused(field):
    """Every numeric bike fact has a least and a greatest value in the schema."""
    bike = factories.BikeFactory()
    low, high = LIMITS[field]
    assert refused(lambda: Bike.objects.filter(pk=bike.pk).update(**{field: low - 1}))
    assert refused(lambda: Bike.objects.filter(pk=bike.pk).update(**{field: high + 1}))
    assert not refused(lambda: Bike.objects.filter(pk=bike.pk).update(**{field: (low + high) / 2}))


@pytest.mark.parametrize(
    ("model", "factory", "values"),
    [
        (Client, factories.ClientFactory, {"name": ""}),
        (Client, factories.ClientFactory, {"name": " padded "}),
        (Client, factories.ClientFactory, {"email": ""}),
        (Client, factories.ClientFactory, {"length_unit": "el"}),
        (Bike, factories.BikeFactory, {"kind": "unicycle"}),
        (Bike, factories.BikeFactory, {"name": ""}),
        (CheckAnswer, factories.CheckAnswerFactory, {"catalogue_version": ""}),
        (Discomfort, factories.DiscomfortFactory, {"score": 11}),
        (Discomfort, factories.DiscomfortFactory, {"phase": "during"}),
        (Discomfort, factories.DiscomfortFactory, {"side": "up"}),
        (OutgoingMail, factories.OutgoingMailFactory, {"state": "sent", "sent_at": None}),
        (OutgoingMail, factories.OutgoingMailFactory, {"state": "lost"}),
        (Studio, factories.StudioFactory, {"grid_min": 7}),
        (Studio, factories.StudioFactory, {"least_chance": 1.5}),
        (Studio, factories.StudioFactory, {"horizon_days": 0}),
        (Studio, factories.StudioFactory, {"paper": "A0"}),
        (Service, factories.ServiceFactory, {"planned_min": 0}),
        (Service, factories.ServiceFactory, {"slack_min": 12}),
        (Service, factories.ServiceFactory, {"price": "-1"}),
        (FitSession, factories.FitSessionFactory, {"state": "lost"}),
        (FitSession, factories.FitSessionFactory, {"planned_min": 0}),
        (FitSession, factories.FitSessionFactory, {"request_key": ""}),
        (FitRecord, factories.FitRecordFactory, {"pitch_deg": 11}),
    ],
)
def test_a_row_that_cannot_be_true_is_refused(model, factory, values):
    """A forged or mistaken value never reaches the table."""
    row = factory()
    assert refused(lambda: model.objects.filter(pk=row.pk).update(**values))


def test_a_session_ends_after_it_starts():
    """End before start is refused."""
    row = factories.FitSessionFactory()
    assert refused(lambda: FitSession.objects.filter(pk=row.pk).update(ends_at=row.starts_at - timedelta(minutes=5)))


def test_hours_and_closures_run_forwards():
    """Closing before opening and a last day before the first are refused."""
    studio = factories.studio_with_hours()
    hours = OpeningHours.objects.filter(studio=studio).first()
    assert refused(lambda: OpeningHours.objects.filter(pk=hours.pk).update(closes=hours.opens))
    assert refused(lambda: Closure.objects.create(studio=studio, first_day="2026-12-24", last_day="2026-12-23"))


@pytest.mark.parametrize("shared", ["fitter", "bay"])
def test_a_fitter_and_a_bay_are_taken_once_per_quantum(shared):
    """The same five minutes of one fitter, or of one bay, cannot be taken twice."""
    first = factories.FitSessionFactory()
    quantum = first.occupancy.first().quantum
    other = factories.FitSessionFactory(studio=first.studio, occupancy=False)
    fitters = {"fitter": first.fitter, "bay": factories.FitterFactory(studio=first.studio)}
    bays = {"bay": first.bay, "fitter": factories.BayFactory(studio=first.studio)}
    row = {"fit_session": other, "fitter": fitters[shared], "bay": bays[shared], "quantum": quantum}
    assert refused(lambda: Occupancy.objects.create(**row))


def test_one_answer_per_check_and_one_score_per_place():
    """A second answer or score replaces the first; it never stands beside it."""
    answer = factories.CheckAnswerFactory(check_key="crash", option="no")
    assert refused(lambda: factories.CheckAnswerFactory(pre_visit=answer.pre_visit, check_key="crash", option="yes"))
    pain = factories.DiscomfortFactory(area="knee_front", side="left")
    assert refused(lambda: factories.DiscomfortFactory(pre_visit=pain.pre_visit, area="knee_front", side="left"))


def test_a_session_is_booked_once_per_request():
    """The same form sent twice cannot book twice."""
    first = factories.FitSessionFactory()
    second = factories.FitSessionFactory(studio=first.studio, occupancy=False)
    assert refused(lambda: FitSession.objects.filter(pk=second.pk).update(request_key=first.request_key))


def test_a_fit_record_keeps_sane_rows():
    """Sigmas are positive, one reading is in force, minutes are possible, states are known."""
    record = factories.FitRecordFactory()
    row = {"fit_record": record, "phase": "before", "quantity": "saddle_height", "value": 720.0, "sigma": 1.5}
    row |= {"instrument": "tape", "as_typed": "720"}
    Reading.objects.create(**row)
    assert refused(lambda: Reading.objects.create(**row))
    assert refused(lambda: Reading.objects.create(**row | {"quantity": "drop", "sigma": 0}))
    assert refused(lambda: Reading.objects.create(**row | {"quantity": "drop", "phase": "during"}))
    assert refused(lambda: BodyMeasure.objects.create(fit_record=record, measure="inseam", value_mm=-1, as_typed="-1"))
    assert refused(lambda: TimeLoss.objects.create(fit_record=record, minutes=0))
    assert refused(lambda: SafetyEntry.objects.create(fit_record=record, item="brakes", state="maybe"))
    SolvedPosition.objects.create(fit_record=record, phase="before")
    assert refused(lambda: SolvedPosition.objects.create(fit_record=record, phase="before"))


def test_decisions_and_states_are_known_ones():
    """A decision, a slot decision and a state change take only the words of the product."""
    fit_session = factories.FitSessionFactory()
    decision = {"pre_visit": fit_session.pre_visit, "finding_key": "a.b", "ruling": "shrug"}
    assert refused(lambda: FindingDecision.objects.create(**decision))
    assert refused(lambda: SlotDecision.objects.create(fit_session=fit_session, choice="shrug"))
    assert refused(lambda: StateChange.objects.create(fit_session=fit_session, to_state="shrug"))


def test_a_summary_holds_a_percentage_and_a_probability():
    """Readiness lies between 0 and 100, the chance between 0 and 1."""
    check = factories.PreVisitCheckFactory()
    row = {"pre_visit": check, "verdict": "clear", "readiness_pct": 100, "chance_to_plan": 1, "expected_bench_min": 0}
    row |= {"computed_on": "2026-11-25", "catalogue_version": "2026.1"}
    assert refused(lambda: TriageSummary.objects.create(**row | {"readiness_pct": 101}))
    assert refused(lambda: TriageSummary.objects.create(**row | {"chance_to_plan": -0.1}))
    assert not refused(lambda: TriageSummary.objects.create(**row))
