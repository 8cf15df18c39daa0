"""What a closed session teaches costs the same after 10 000 sessions as after 10."""

import sys
import time

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from intake.catalogue.loader import load_catalogue
from intake.models import FaultExperience, ForecastOutcome, SessionLesson
from intake.services.experience import learn_from
from tests import factories

pytestmark = [pytest.mark.benchmark, pytest.mark.django_db]

ASKED = 1.5
RUNS = 15


def taught(before, now, studio):
    """Let the counts and outcomes of so many sessions more be there, as bulk rows."""
    keys = [f"{check.key}.{fault.key}" for check in load_catalogue().checks for fault in check.faults]
    rows = [
        FaultExperience(finding_key=k, seen=now, faults=now // 9, times=now // 9, mean_log=3, squares_log=now / 9)
        for k in keys
    ]
    FaultExperience.objects.all().delete()
    FaultExperience.objects.bulk_create(rows)
    usual = {"month": "2026-03-01", "verdict": "clear", "planned_min": 90, "slack_min": 15, "lost_min": 0, "pit_low": 0}
    usual |= {"pit_high": 0.6, "crps": 2, "crps_prior": 4, "within90": True, "band_chance": 0.95, "chance": 0.9}
    outcomes = ForecastOutcome.objects.bulk_create([ForecastOutcome(**usual) for _ in range(now - before)], 500)
    bike = factories.BikeFactory()
    checks = type(factories.PreVisitCheckFactory.build()).objects.bulk_create(
        [factories.PreVisitCheckFactory.build(bike=bike, client=bike.client) for _ in range(now - before)], 500
    )
    observed = dict.fromkeys(keys, 0)
    SessionLesson.objects.bulk_create(
        [
            SessionLesson(pre_visit=check, month="2026-03-01", observed=observed, outcome=outcome)
            for check, outcome in zip(checks, outcomes, strict=True)
        ],
        500,
    )


def cost(studio):
    """Processor seconds of the quickest of some closings, and their queries."""
    seconds, queries = [], set()
    for _run in range(RUNS):
        pre_visit = factories.FitSessionFactory(studio=studio, occupancy=False).pre_visit
        with CaptureQueriesContext(
            connection,
        ) as captured:
            start = time.process_time()
            learn_from(pre_visit=pre_visit, lost_min={"post_slides.stuck": 20})
            seconds.append(time.process_time() - start)
        queries.add(len(captured))
    return min(seconds), queries


def test_learning_is_as_quick_after_many_sessions(studio, capsys):
    """One line: the time after 10 000 over that after 10; the queries are the same."""
    taught(0, 10, studio)
    cost(studio)
    few, few_queries = cost(studio)
    taught(10, 10_000, studio)
    many, many_queries = cost(studio)
    ratio = many / few
    with capsys.disabled():
        sys.stdout.write(f"\nRATIO learning_update_10k_vs_10 {ratio:.2f} <={ASKED}\n")
    assert few_queries == many_queries
    assert len(many_queries) == 1
    assert ratio <= ASKED
