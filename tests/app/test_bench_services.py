"""Readings are kept raw: a correction adds, nothing is overwritten, and what is computed from them follows."""

from threading import Barrier, Thread

import numpy as np
import pytest
from django.db import connection
from hypothesis import given
from hypothesis import strategies as st

from sessions.geometry.errors import MeasureError
from sessions.models import FitRecord, Reading, SolvedPosition
from sessions.selectors.bench.positions import UNCHANGED, positions_of, stored_position
from sessions.services.bench.details import save_notes
from sessions.services.bench.errors import RecordClosedError, TextConflictError
from sessions.services.bench.readings import Without, save_readings, set_pitch
from sessions.tape.fit import solve_fit
from sessions.tape.taking import take
from tests import factories
from tests.app.bench_help import AFTER, BEFORE, begun, closed, keep, taken

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(fit_session):
    """An open record."""
    return begun(fit_session)


def in_force(record, phase="before"):
    """Values of the readings in force."""
    rows = record.readings.filter(phase=phase, replaced_at__isnull=True)
    return {row.quantity: row.value for row in rows}


def test_a_correction_keeps_what_was_read_first(record, fitter_user):
    """The old row is retired with its time, the new one says who took it."""
    keep(record, "before", {"saddle_height": 743})
    keep(record, "before", {"saddle_height": 734}, by=fitter_user)
    old, new = record.readings.order_by("pk")
    assert (old.value, old.replaced_at is not None) == (743, True)
    assert (new.value, new.replaced_at, new.taken_by) == (734, None, fitter_user)


def test_the_same_reading_sent_twice_is_one_row(record):
    """Only a different value, uncertainty or instrument is a new reading."""
    for _again in range(3):
        keep(record, "before", {"saddle_height": 734})
    assert record.readings.count() == 1
    save_readings(
        record=record, phase="before", given={"saddle_height": taken(734, "saddle_height", instrument="laser")}, by=None
    )
    save_readings(
        record=record, phase="before", given={"saddle_height": taken(734, "saddle_height", sigma=3.0)}, by=None
    )
    assert record.readings.count() == 3
    assert in_force(record) == {"saddle_height": 734}


def test_a_cleared_reading_is_retired_not_deleted(record):
    """What was typed once can still be read by the owner."""
    keep(record, "before", {"drop": 60})
    save_readings(record=record, phase="before", given={"drop": Without.CLEARED}, by=None)
    assert in_force(record) == {}
    assert record.readings.count() == 1


def test_the_solved_position_is_the_cores(record):
    """Points and covariance that are stored are what the tape core computes from the same readings."""
    keep(record, "before", BEFORE)
    expected = solve_fit([take(key, value) for key, value in BEFORE.items()]).position
    kept = stored_position(SolvedPosition.objects.get(fit_record=record, phase="before"))
    order = [kept.row(name) for name in expected.names]
    assert set(kept.names) == set(expected.names)
    np.testing.assert_allclose(kept.xyz_mm[order], expected.xyz_mm, atol=1e-6)
    assert kept.sigma_at(expected.names[1]) == pytest.approx(expected.sigma_at(expected.names[1]), abs=1e-6)


def test_the_solved_position_goes_with_its_readings(record):
    """Where nothing places a point any more, no stale position is left behind."""
    keep(record, "before", {"saddle_height": 734, "setback_datum": 200})
    assert SolvedPosition.objects.count() == 1
    save_readings(record=record, phase="before", given={"setback_datum": Without.CLEARED}, by=None)
    assert not SolvedPosition.objects.exists()


def test_untouched_carries_value_and_uncertainty_and_says_so(record):
    """It is no new measurement: same value, same sigma, and no instrument claims to have taken it."""
    given = {"saddle_tilt": taken(1.5, "saddle_tilt", instrument="inclinometer", sigma=0.7)}
    save_readings(record=record, phase="before", given=given, by=None)
    save_readings(record=record, phase="after", given={"saddle_tilt": Without.UNCHANGED}, by=None)
    row = record.readings.get(phase="after")
    assert (row.value, row.sigma, row.instrument) == (1.5, 0.7, UNCHANGED)
    assert positions_of(record).after.dimension("saddle_tilt").sigma == pytest.approx(0.7)


def test_untouched_follows_a_correction_of_the_reading_before(record):
    """A slip that is put right before is put right after as well; a cleared one takes it along."""
    keep(record, "before", {"drop": 95})
    save_readings(record=record, phase="after", given={"drop": Without.UNCHANGED}, by=None)
    keep(record, "before", {"drop": 59})
    assert in_force(record, "after") == {"drop": 59}
    save_readings(record=record, phase="before", given={"drop": Without.CLEARED}, by=None)
    assert in_force(record, "after") == {}


def test_untouched_says_nothing_without_a_reading_before(record):
    """There is nothing that could have been left alone."""
    save_readings(record=record, phase="after", given={"drop": Without.UNCHANGED}, by=None)
    save_readings(record=record, phase="before", given={"drop": Without.UNCHANGED}, by=None)
    assert not record.readings.exists()


def test_what_was_measured_after_is_left_alone_by_a_correction_before(record):
    """Only what was said to be untouched follows."""
    keep(record, "before", {"drop": 60})
    keep(record, "after", {"drop": 52})
    keep(record, "before", {"drop": 61})
    assert in_force(record, "after") == {"drop": 52}


def test_changes_are_told_with_their_uncertainty(record):
    """Saddle 11.6 mm up with 1.5 mm tape error each: σ(Δ) = 1.5·√2 = 2.12 mm, real."""
    keep(record, "before", BEFORE)
    positions = keep(record, "after", AFTER)
    change = positions.changes_by_key["saddle_height"]
    assert change.delta == pytest.approx(11.6, abs=0.1)
    assert change.sigma == pytest.approx(2.12, abs=0.15)
    assert change.real is True
    assert positions.changes_by_key["saddle_tilt"].real is False


@pytest.mark.parametrize("value", [0, -734, 73.4, 1e9, float("nan"), float("inf")])
def test_no_service_keeps_what_cannot_be(record, value):
    """Whoever calls it: a loader, a page, a test."""
    with pytest.raises(MeasureError):
        keep(record, "before", {"saddle_height": value})
    assert not record.readings.exists()


def test_several_readings_are_kept_together_or_not_at_all(record):
    """One that cannot be leaves nothing half done."""
    with pytest.raises(MeasureError):
        keep(record, "before", {"drop": 60, "saddle_height": -1})
    assert not record.readings.exists()


def test_a_stored_reading_that_the_rules_refuse_later_breaks_nothing(record):
    """Limits may change: what no longer passes counts for nothing and is named."""
    keep(record, "before", {"saddle_height": 734})
    row = {"fit_record": record, "phase": "before", "sigma": 1.5, "as_typed": "x"}
    Reading.objects.create(quantity="drop", value=9999, instrument="tape", **row)
    Reading.objects.create(quantity="retired_reading", value=1, instrument="tape", **row)
    Reading.objects.create(quantity="bb_height", value=270, instrument="abacus", **row)
    positions = positions_of(record)
    assert set(positions.unreadable("before")) == {"drop", "retired_reading", "bb_height"}
    assert [each.key for each in positions.before.dimensions] == ["saddle_height"]


def test_the_pitch_turns_the_position_back(record):
    """A bike that stood nose-up by 1°: the saddle's offset shifts by height · sin 1°, about 12.2 mm at 700 mm."""
    keep(record, "before", {"saddle_height": 734, "setback_datum": 200})
    level = positions_of(record).before.dimension("setback_datum").value
    positions = set_pitch(record=record, pitch_deg=1.0)
    height = (734**2 - 200**2) ** 0.5
    moved = positions.before.dimension("setback_datum").value - level
    assert abs(moved) == pytest.approx(height * np.sin(np.radians(1)), rel=0.01)
    stored = stored_position(SolvedPosition.objects.get(fit_record=record, phase="before"))
    assert stored.at(positions.before.position.names[1]) == pytest.approx(
        positions.before.position.at(positions.before.position.names[1])
    )


def test_nothing_in_a_closed_record_changes(record):
    """Every service refuses it, not only the pages."""
    keep(record, "before", {"drop": 60})
    closed(record)
    for attempt in (
        lambda: keep(record, "before", {"drop": 61}),
        lambda: set_pitch(record=record, pitch_deg=2.0),
        lambda: save_notes(record=record, notes="later", seen=""),
    ):
        with pytest.raises(RecordClosedError):
            attempt()
    assert in_force(record) == {"drop": 60}


def test_notes_of_two_tablets_are_never_overwritten_unseen(record):
    """The second to save is shown what stands there, instead of wiping it out."""
    save_notes(record=record, notes="from the first", seen="")
    with pytest.raises(TextConflictError) as refused:
        save_notes(record=record, notes="from the second", seen="")
    assert refused.value.theirs == "from the first"
    save_notes(record=record, notes="from both", seen="from the first")
    assert FitRecord.objects.get().notes == "from both"


def at_once(*jobs):
    """Run jobs in threads of their own, all starting together, each with its own connection."""
    together, errors = Barrier(len(jobs)), []

    def run(job):
        together.wait(timeout=20)
        try:
            job()
        except Exception as error:
            errors.append(error)
        finally:
            connection.close()

    threads = [Thread(target=run, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert errors == []


@pytest.mark.django_db(transaction=True)
def test_two_tablets_that_save_different_fields_lose_nothing():
    """With real connections and real threads, on either database."""
    record = begun(factories.FitSessionFactory())
    values = {
        "bb_height": 270,
        "saddle_height": 734,
        "setback_nose": 60,
        "drop": 60,
        "crank_length": 170,
        "bar_reach": 470,
    }
    at_once(*(lambda key=key, value=value: keep(record, "before", {key: value}) for key, value in values.items()))
    assert in_force(record) == values
    assert SolvedPosition.objects.filter(fit_record=record).count() == 1
    stored = stored_position(SolvedPosition.objects.get())
    assert set(stored.names) == set(positions_of(record).before.position.names)


@pytest.mark.django_db(transaction=True)
def test_the_same_field_saved_at_once_has_one_reading_in_force():
    """Each different value is kept, the last is in force; equal ones are one row."""
    record = begun(factories.FitSessionFactory())
    at_once(*(lambda value=value: keep(record, "before", {"drop": value}) for value in (60, 60, 60, 61, 62)))
    rows = record.readings.all()
    assert rows.filter(replaced_at__isnull=True).count() == 1
    assert {row.value for row in rows} == {60, 61, 62}


@given(st.lists(st.sampled_from([60, 61, "clear", "same"]), min_size=1, max_size=8))
def test_whatever_happens_one_reading_at_most_is_in_force(steps):
    """A history of any steps: rows are only added, and the last thing said is what holds."""
    record = begun(factories.FitSessionFactory(occupancy=False))
    expected, count = None, 0
    for step in steps:
        before = record.readings.count()
        if step == "clear":
            save_readings(record=record, phase="before", given={"drop": Without.CLEARED}, by=None)
            expected = None
        else:
            value = (expected or 60) if step == "same" else step
            keep(record, "before", {"drop": value})
            expected = value
        count = record.readings.count()
        assert count >= before
    assert in_force(record) == ({} if expected is None else {"drop": expected})
    assert count <= len(steps)
