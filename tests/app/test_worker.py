"""The background worker outlives a database that is locked or away, and sweeps whatever happens."""

import threading
from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.db.utils import InterfaceError, OperationalError
from django.test import Client
from django.utils import timezone

from fitstudio.management.commands import worker
from fitstudio.upkeep import clear_out, sweep
from intake.models import TriageSummary


@pytest.fixture
def runs(monkeypatch):
    """What the task runner does at each start: raise it, or end well. The pauses between take no time."""
    planned, done = [], []

    def run(name, **options):
        done.append(name)
        outcome = planned.pop(0)
        if outcome is not None:
            raise outcome

    monkeypatch.setattr(worker, "call_command", run)
    monkeypatch.setattr(worker.time, "sleep", lambda seconds: None)
    runs.planned, runs.done = planned, done
    return runs


@pytest.mark.parametrize(
    "trouble", [OperationalError("database is locked"), InterfaceError("connection already closed")]
)
def test_it_looks_for_tasks_again_after_the_database_did_not_answer(trouble, runs):
    """As often as it takes."""
    runs.planned += [trouble, trouble, None]
    worker.run_tasks(verbosity=0, interval=1)
    assert runs.done == ["db_worker"] * 3


@pytest.mark.parametrize("end", [SystemExit(0), KeyboardInterrupt(), ValueError("a mistake of ours")])
def test_a_signal_or_a_mistake_ends_it(end, runs):
    """Whoever started it must hear of it."""
    runs.planned += [end, None]
    with pytest.raises(type(end)):
        worker.run_tasks(verbosity=0, interval=1)
    assert runs.done == ["db_worker"]


class Minutes(threading.Event):
    """An event that is not set for some minutes, none of which takes any time."""

    def __init__(self, minutes):
        super().__init__()
        self.minutes = minutes

    def wait(self, timeout=None):
        self.minutes -= 1
        return self.minutes <= 0


def test_a_sweep_that_fails_is_followed_by_the_next(monkeypatch, caplog):
    """The failure is logged; what has expired is cleared out once a day, not every minute."""
    swept, pruned = [], []

    def fail_once():
        swept.append(1)
        if len(swept) == 1:
            raise OperationalError("database is locked")

    monkeypatch.setattr(worker, "sweep", fail_once)
    monkeypatch.setattr(worker, "clear_out", lambda: pruned.append(len(swept)))
    worker.sweep_until(Minutes(worker.SWEEPS_A_DAY + 2))
    assert len(swept) == worker.SWEEPS_A_DAY + 2
    assert pruned == [worker.SWEEPS_A_DAY + 1]
    assert caplog.text.count("A sweep failed") == 1


@pytest.mark.django_db
def test_log_ins_that_have_expired_are_cleared_out(fitter_user):
    """A table that only grows would say for ever who worked when."""
    for _browser in range(2):
        Client().force_login(fitter_user)
    Session.objects.filter(pk=Session.objects.first().pk).update(expire_date=timezone.now() - timedelta(days=1))
    clear_out()
    assert Session.objects.count() == 1


@pytest.mark.django_db
def test_the_sweep_judges_again_what_was_judged_on_another_day(fit_session):
    """A day that passes can close a remedy: the lists must not show yesterday's verdict."""
    judged = {"verdict": "clear", "readiness_pct": 100, "chance_to_plan": 1, "expected_bench_min": 0}
    old = {"computed_on": "2000-01-01", "catalogue_version": "2026.1"}
    TriageSummary.objects.create(pre_visit=fit_session.pre_visit, **judged, **old)
    sweep()
    assert TriageSummary.objects.get().computed_on.year > 2000
    assert TriageSummary.objects.get().verdict == "ask_rider"
