"""The review list costs as many queries for 2 000 coming sessions as for 20."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from intake.catalogue.loader import load_catalogue
from intake.models import Bike, Client, PreVisitCheck, TriageSummary
from sessions.models import FitSession, SlotDecision

pytestmark = [pytest.mark.benchmark, pytest.mark.django_db]

VERDICTS = ["do_not_ride", "fix_first", "ask_rider", "bring_parts", "clear"]


def coming(studio, count, computed_on):
    """Book so many sessions for as many riders, each judged and with a decision on its slot."""
    now, service = timezone.now(), studio.services.get()
    fitter, bay = studio.fitters.first(), studio.bays.first()
    clients = Client.objects.bulk_create(
        Client(name=f"Rider {n}", email=f"r{n}@tarnfell.example") for n in range(count)
    )
    bikes = Bike.objects.bulk_create(Bike(client=client, name="Blue road bike", kind="road") for client in clients)
    checks = PreVisitCheck.objects.bulk_create(PreVisitCheck(client=bike.client, bike=bike) for bike in bikes)
    sessions = FitSession.objects.bulk_create(
        FitSession(
            studio=studio,
            service=service,
            client=check.client,
            bike=check.bike,
            fitter=fitter,
            bay=bay,
            pre_visit=check,
            starts_at=now + timedelta(days=1, minutes=5 * number),
            ends_at=now + timedelta(days=1, minutes=5 * number + 120),
            planned_min=service.planned_min,
            slack_min=service.slack_min,
        )
        for number, check in enumerate(checks)
    )
    SlotDecision.objects.bulk_create(SlotDecision(fit_session=each, choice="keep") for each in sessions)
    TriageSummary.objects.bulk_create(
        TriageSummary(
            pre_visit=check,
            verdict=VERDICTS[number % 5],
            readiness_pct=80,
            chance_to_plan=0.8,
            expected_bench_min=5,
            decision_due_on=computed_on + timedelta(days=number % 40),
            computed_on=computed_on,
            catalogue_version=load_catalogue().version,
        )
        for number, check in enumerate(checks)
    )


def queries(browser):
    """Return how many queries the list takes, and that it shows a whole page or all there is."""
    with CaptureQueriesContext(connection) as captured:
        response = browser.get(reverse("review:list"), {"show": "all"})
    shown = sum(len(group.rows) for group in response.context["groups"])
    assert shown == min(25, response.context["counts"]["all"])
    return len(captured)


@pytest.mark.parametrize(("name", "days_ago"), [("review_list_queries", 0), ("review_list_queries_stale", 1)])
def test_queries_do_not_grow_with_sessions(fitter_client, studio, name, days_ago):
    """Judged today, and with everything waiting to be judged again since yesterday."""
    today = timezone.now().astimezone(studio.zone).date()
    coming(studio, 20, today - timedelta(days=days_ago))
    few = queries(fitter_client)
    coming(studio, 1980, today - timedelta(days=days_ago))
    TriageSummary.objects.update(computed_on=today - timedelta(days=days_ago))
    many = queries(fitter_client)
    print(f"\nRATIO {name} {many / few:.3f} <=1")  # noqa: T201 - the line is what the benchmark is for
    assert many <= few
