"""Judging many coming sessions again takes time in proportion to how many there are."""

import sys
from datetime import timedelta
from time import process_time

import pytest
from django.utils import timezone

from intake.models import CheckAnswer, PreVisitCheck, TriageSummary
from intake.services.triage import refresh_many
from tests.benchmarks.test_review_list import coming

pytestmark = [pytest.mark.benchmark, pytest.mark.django_db]

MANY, FEW = 5000, 2500
ASKED = 2.3
ANSWERS = [("gears", "slipping"), ("post_slides", "not_sure"), ("cleat_wear", "good"), ("crash", "no")]


def seconds(work):
    """Processor seconds of one run, so that whatever else the machine does counts for little."""
    started = process_time()
    work()
    return process_time() - started


def test_twice_the_sessions_take_twice_the_time(studio, capsys):
    """2 500 and 5 000 sessions, in batches, each with some answers."""
    coming(studio, MANY, timezone.now().date() - timedelta(days=1))
    checks = list(PreVisitCheck.objects.select_related("bike").order_by("pk"))
    for key, option in ANSWERS:
        given = {"check_key": key, "option": option, "catalogue_version": "2026.1", "answered_at": timezone.now()}
        CheckAnswer.objects.bulk_create(CheckAnswer(pre_visit=check, **given) for check in checks[::2])
    refresh_many(checks[:60])  # the lognormals of the catalogue are kept from now on
    few_s = seconds(lambda: refresh_many(checks[:FEW]))
    many_s = seconds(lambda: refresh_many(checks))
    today = timezone.now().astimezone(studio.zone).date()
    assert TriageSummary.objects.filter(computed_on=today).count() == MANY
    with capsys.disabled():
        sys.stdout.write(f"\nRATIO retriage_5000_vs_2500 {many_s / few_s:.2f} <={ASKED}\n")
        sys.stdout.write(f"{1000 * many_s / MANY:.1f} ms of processor time a session\n")
    assert many_s / few_s <= ASKED
