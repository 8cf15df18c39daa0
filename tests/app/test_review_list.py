"""The review list: what needs a decision soonest first, true today, in as many queries for many sessions as for few."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from intake.catalogue.loader import load_catalogue
from intake.models import TriageSummary
from intake.selectors.triage import judge, triage_input
from intake.services.triage import refresh_many
from intake.slots import slot_of
from intake.triage.phrases import percent
from sessions.models import SlotDecision
from sessions.selectors.review.listing import PAGE_LENGTH
from sessions.services.review.summaries import refresh_stale
from tests import factories
from tests.reviewing import all_answered

pytestmark = pytest.mark.django_db

VERSION = load_catalogue().version

LIST = reverse("review:list")
NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)
ALL = {"show": "all"}


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW):
        yield


def a_session(studio, days=14, **judged):
    """A session some days from now, whose triage says what it is told to."""
    fit_session = factories.FitSessionFactory(studio=studio, starts_at=NOW + timedelta(days=days), occupancy=False)
    given = {"verdict": "clear", "computed_on": TODAY, "catalogue_version": VERSION, **judged}
    figures = {"readiness_pct": 90, "chance_to_plan": 0.9, "expected_bench_min": 3}
    TriageSummary.objects.create(pre_visit=fit_session.pre_visit, **figures | given)
    return fit_session


def shown(response):
    """The sessions on a page of the list, in their order."""
    return [row.fit_session for group in response.context["groups"] for row in group.rows]


def test_what_needs_a_decision_soonest_comes_first(fitter_client, studio):
    """Due day, then a red flag, then the graver verdict, then the earlier start; what waits for nobody comes last."""
    friday, today = TODAY + timedelta(days=4), TODAY
    undecided = a_session(studio)
    later_start = a_session(studio, 9, decision_due_on=friday, verdict="fix_first")
    earlier_start = a_session(studio, 8, decision_due_on=friday, verdict="fix_first")
    graver = a_session(studio, 20, decision_due_on=friday, verdict="do_not_ride")
    lighter = a_session(studio, 7, decision_due_on=friday, verdict="ask_rider")
    urgent = a_session(studio, 30, decision_due_on=today, verdict="bring_parts")
    flagged = a_session(studio, 31, decision_due_on=today, verdict="clear", stopped=True)
    expected = [flagged, urgent, graver, earlier_start, later_start, lighter]
    assert shown(fitter_client.get(LIST)) == expected
    assert shown(fitter_client.get(LIST, ALL)) == [*expected, undecided]


def test_the_due_day_is_said_in_words(fitter_client, studio):
    """Today, tomorrow, or weekday and date; a day that has passed is today."""
    for due_on in (
        None,
        TODAY - timedelta(days=3),
        TODAY,
        TODAY + timedelta(days=1),
        date(2026, 12, 3),
        date(2027, 1, 4),
    ):
        a_session(studio, 13, decision_due_on=due_on)
    words = [group.words for group in fitter_client.get(LIST, ALL).context["groups"]]
    assert words == [
        "Decide today",
        "Decide by tomorrow",
        "Decide by Thu 3 Dec",
        "Decide by Mon 4 Jan 2027",
        "Nothing to decide",
    ]


def test_a_row_says_what_the_triage_says(fitter_client, studio, fitter_user):
    """Verdict, reason, readiness, chance, unanswered, rider, bike, service, start and the last decision about the slot."""
    fit_session = factories.FitSessionFactory(studio=studio)
    result = all_answered(fit_session, post_slides="stuck", cleat_wear="could_not")
    SlotDecision.objects.create(fit_session=fit_session, choice="keep", decided_by=fitter_user)
    SlotDecision.objects.create(fit_session=fit_session, choice="ask_rider", decided_by=fitter_user)
    html = " ".join(fitter_client.get(LIST).content.decode().split())
    for text in (
        "Fix first",
        result.reasons[0].text,
        f"readiness {percent(result.forecast.readiness_pct / 100)}",
        f"runs to plan {percent(result.forecast.chance)}",
        "1 check not known",
        fit_session.client.name,
        "Blue road bike · Full fit",
        "Mon 16 Mar, 10:00",
        "slot: ask the rider, 2 Mar",
    ):
        assert text in html, text
    assert reverse("review:session", args=[fit_session.pk]) in html


def test_a_start_is_shown_in_the_studios_own_time(fitter_client, studio):
    """Ten o'clock in London is seven in the evening in Tokyo."""
    studio.time_zone = "Asia/Tokyo"
    studio.save()
    a_session(studio, 14)
    assert "Mon 16 Mar, 17:00" in fitter_client.get(LIST, ALL).content.decode()


@pytest.mark.parametrize("state", ["cancelled", "no_show", "done", "under_way"])
def test_what_is_not_coming_is_not_listed(fitter_client, studio, state):
    """Ended sessions, those under way and those of the past wait for no decision."""
    past = a_session(studio, decision_due_on=TODAY)
    type(past).objects.filter(pk=past.pk).update(starts_at=NOW - timedelta(hours=3), ends_at=NOW - timedelta(minutes=1))
    gone = a_session(studio, decision_due_on=TODAY)
    type(gone).objects.filter(pk=gone.pk).update(state=state)
    assert shown(fitter_client.get(LIST, ALL)) == []


def test_filters_narrow_the_list_and_count(fitter_client, studio):
    """One verdict, or all that are coming; the numbers beside the filters are those of the rows."""
    clear = a_session(studio, 3)
    due = a_session(studio, 4, verdict="fix_first", decision_due_on=TODAY)
    a_session(studio, 5, verdict="ask_rider", decision_due_on=TODAY)
    response = fitter_client.get(LIST, {"verdict": "fix_first"})
    assert shown(response) == [due]
    assert response.context["counts"] | {} == {
        "all": 3,
        "due": 2,
        "fix_first": 1,
        "ask_rider": 1,
        "clear": 0,
        "bring_parts": 0,
        "do_not_ride": 0,
    }
    assert shown(fitter_client.get(LIST, ALL | {"verdict": "clear"})) == [clear]
    assert shown(fitter_client.get(LIST, {"verdict": "clear"})) == []


@pytest.mark.parametrize(
    "query",
    [
        "show=%00&verdict=%00&page=%00",
        "page=0",
        "page=-1",
        "page=99999999999999999999999",
        "page=NaN",
        "verdict=' OR 1=1--",
        "verdict=<script>alert(1)</script>",
        "show=all&show=due&verdict=😀",
        "page=1&page=2",
        f"verdict={'x' * 5000}",
    ],
)
def test_a_malformed_address_shows_the_list(fitter_client, studio, query):
    """What cannot be meant is left aside; nothing of it is written into the page."""
    due = a_session(studio, decision_due_on=TODAY)
    response = fitter_client.get(f"{LIST}?{query}")
    assert response.status_code == 200
    assert shown(response) == [due]
    assert "<script>alert" not in response.content.decode()


def test_a_long_list_has_pages_that_keep_the_filter(fitter_client, studio):
    """25 to a page; the links to the others keep what is shown."""
    for day in range(1, PAGE_LENGTH + 3):
        a_session(studio, day)
    first = fitter_client.get(LIST, ALL)
    second = fitter_client.get(LIST, ALL | {"page": 2})
    assert (len(shown(first)), len(shown(second))) == (PAGE_LENGTH, 2)
    assert "?show=all&amp;page=2" in first.content.decode()


def test_an_empty_list_says_so(fitter_client, studio):
    """Nothing coming leads to booking; nothing due leads to all."""
    assert reverse("desk_booking:start") in fitter_client.get(LIST).content.decode()
    a_session(studio)
    html = fitter_client.get(LIST).content.decode()
    assert "No session to show here" in html
    assert 'href="?show=all"' in html


def test_a_day_that_passes_is_judged_again(fitter_client, studio):
    """What was clear on Monday because a workshop still had time is not on Friday: the list says so without anybody acting."""
    fit_session = factories.FitSessionFactory(studio=studio)
    all_answered(fit_session, post_slides="stuck")
    assert shown(fitter_client.get(LIST))
    assert TriageSummary.objects.get().decision_due_on == date(2026, 3, 5)
    with time_machine.travel(NOW + timedelta(days=7)):
        response = fitter_client.get(LIST)
        summary = TriageSummary.objects.get()
    assert (summary.computed_on, summary.decision_due_on) == (date(2026, 3, 9), date(2026, 3, 9))
    assert [group.words for group in response.context["groups"]] == ["Decide today"]


def test_today_is_the_studios_own_day(studio):
    """Late on Monday in London it is Tuesday in Auckland: what was judged on Monday is stale there, and only there."""
    far = factories.studio_with_hours(time_zone="Pacific/Auckland")
    here, there = a_session(studio), a_session(far)
    with time_machine.travel(datetime(2026, 3, 2, 20, 0, tzinfo=UTC)):
        assert refresh_stale() == 1
        there.pre_visit.summary.refresh_from_db()
        assert there.pre_visit.summary.computed_on == date(2026, 3, 3)
    here.pre_visit.summary.refresh_from_db()
    assert here.pre_visit.summary.computed_on == TODAY


def test_what_was_never_judged_or_by_an_older_catalogue_is_judged(studio):
    """A missing summary is as stale as an old one; one that is fresh is left alone."""
    unjudged = factories.FitSessionFactory(studio=studio, occupancy=False)
    outdated, fresh = a_session(studio, catalogue_version="2019.4"), a_session(studio)
    assert refresh_stale() == 2
    assert refresh_stale() == 0
    versions = {outdated.pre_visit_id: VERSION, unjudged.pre_visit_id: VERSION, fresh.pre_visit_id: VERSION}
    assert dict(TriageSummary.objects.values_list("pre_visit", "catalogue_version")) == versions


def test_no_look_judges_more_than_a_batch(studio):
    """The soonest first; the rest waits for the next look."""
    sessions = [a_session(studio, day, computed_on=TODAY - timedelta(days=1)) for day in (9, 3, 6)]
    assert refresh_stale(limit=2) == 2
    left = TriageSummary.objects.get(computed_on__lt=TODAY)
    assert left.pre_visit_id == sessions[0].pre_visit_id
    assert refresh_stale(limit=2) == 1


@pytest.mark.parametrize("days_ago", [0, 1])
def test_as_many_queries_for_many_sessions_as_for_few(
    fitter_client, studio, django_assert_num_queries, fitter_user, days_ago
):
    """The list costs the same for three sessions and for sixty, whether they were judged today or all wait to be."""
    queries = 9 + (11 if days_ago else 0)
    for count in (3, 57):
        for number in range(count):
            fit_session = a_session(studio, 1 + number % 50, decision_due_on=TODAY)
            SlotDecision.objects.create(fit_session=fit_session, choice="keep", decided_by=fitter_user)
        TriageSummary.objects.update(computed_on=TODAY - timedelta(days=days_ago))
        with django_assert_num_queries(queries):
            fitter_client.get(LIST, ALL)


def test_summaries_in_the_list_are_the_triage_itself(fitter_client, studio):
    """What is kept for lists is what the core says for each, to the last figure that is shown."""
    sessions = [factories.FitSessionFactory(studio=studio, occupancy=False) for _ in range(4)]
    for fit_session, option in zip(sessions, ["slides", "stiff", "stuck", "not_sure"], strict=True):
        all_answered(fit_session, post_slides=option)
    refresh_many([fit_session.pre_visit for fit_session in sessions])
    for row in (row for group in fitter_client.get(LIST, ALL).context["groups"] for row in group.rows):
        pre_visit = row.fit_session.pre_visit
        result = judge(triage_input(pre_visit, slot_of(pre_visit.pk), load_catalogue()))
        assert row.summary.verdict == result.verdict
        assert row.summary.readiness_pct == pytest.approx(result.forecast.readiness_pct)
        assert row.summary.chance_to_plan == pytest.approx(result.forecast.chance)
        assert row.summary.decision_due_on == result.decision_due
        assert row.summary.unanswered == len(result.unknowns)


def test_only_staff_open_the_list(client, owner_user, rider_link):
    """Nobody and riders are sent to the log-in; an owner is staff; nothing can be posted to it."""
    assert client.get(LIST).url.startswith("/accounts/login/")
    owner = Browser()
    owner.force_login(owner_user)
    assert owner.get(LIST).status_code == 200
    assert owner.post(LIST).status_code == 405


def test_the_list_is_not_kept_by_anybody_in_between(fitter_client, studio):
    """Names of riders are not for caches or search engines."""
    response = fitter_client.get(LIST)
    assert "no-store" in response["Cache-Control"]
    assert response["X-Robots-Tag"] == "noindex"
    assert timezone.now().date() == TODAY
