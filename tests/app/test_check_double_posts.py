"""Two taps, two tabs, rider and desk at once: real threads against the real database store everything once."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connections
from django.test import Client
from django.urls import reverse

from intake.catalogue.loader import load_catalogue
from intake.models import CheckAnswer, Discomfort, OutgoingMail, TriageSummary
from intake.services.triage import refresh_summary
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)
TAPS = 6


@pytest.fixture
def link(db):
    """The private link of a booked session's rider."""
    return factories.RiderLinkFactory(pre_visit=factories.FitSessionFactory().pre_visit)


def at_once(address, posts):
    """Post all of these to one address at the same moment; return the status codes."""
    start = Barrier(len(posts))

    def post(data):
        try:
            start.wait()
            return Client().post(address, data).status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(posts)) as taps:
        return list(taps.map(post, posts))


def test_the_first_answer_given_many_times_at_once_is_one_row(link):
    """Every tap is taken, one row and one summary stay."""
    address = reverse("check:question", args=[link.token, "gears"])
    assert at_once(address, [{"gears-option": "fine"}] * TAPS) == [302] * TAPS
    assert CheckAnswer.objects.get().option == "fine"
    assert TriageSummary.objects.count() == 1


def test_different_answers_at_once_leave_one_of_them_whole(link):
    """Which tap is last is chance; option and remark of one and the same tap are kept together."""
    address = reverse("check:question", args=[link.token, "gears"])
    options = ["fine", "by_hand", "slipping"] * 2
    at_once(address, [{"gears-option": option, "gears-note": f"said {option}"} for option in options])
    row = CheckAnswer.objects.get()
    assert row.note == f"said {row.option}"


def test_the_summary_has_seen_every_answer_that_was_given_at_once(link):
    """Whoever judges last has waited for the others: nothing answered still counts as unknown."""
    keys = ["gears", "crash", "bring", "shoes", "crank_play", "bar_straight"]
    start = Barrier(len(keys))

    def post(key):
        try:
            start.wait()
            address = reverse("check:question", args=[link.token, key])
            return Client().post(address, {f"{key}-option": load_catalogue().check(key).options[0].key}).status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(keys)) as taps:
        assert list(taps.map(post, keys)) == [302] * len(keys)
    kept = TriageSummary.objects.get().unanswered
    assert kept == len(refresh_summary(link.pre_visit).unknowns)


def test_a_place_marked_many_times_at_once_is_one_row(link):
    """The figure takes double taps."""
    address = reverse("check:place", args=[link.token, "neck"])
    assert at_once(address, [{"score": "4"}] * TAPS) == [302] * TAPS
    assert Discomfort.objects.get().score == 4


def test_handing_in_many_times_at_once_mails_once(link):
    """One check, one advice, one mail."""
    factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key="gears", option="slipping")
    address = reverse("check:finish", args=[link.token])
    assert at_once(address, [{"note": "see you"}] * TAPS) == [302] * TAPS
    assert OutgoingMail.objects.filter(key__startswith="advice:").count() == 1
