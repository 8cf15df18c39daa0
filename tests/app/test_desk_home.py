"""The desk's first page: the day's sessions, and what must be decided first."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine
from django.urls import reverse

from intake.models import TriageSummary
from sessions.models import OpeningHours
from tests import factories

pytestmark = pytest.mark.django_db
HOME = reverse("desk:home")
NOW = datetime(2026, 11, 25, 8, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _a_wednesday_morning():
    with time_machine.travel(NOW, tick=False):
        yield


def a_session(studio, starts_at, *, verdict="clear", due_on=None, **kwargs):
    """A session whose triage says what it is told to."""
    fit_session = factories.FitSessionFactory(studio=studio, starts_at=starts_at, **kwargs)
    TriageSummary.objects.create(
        pre_visit=fit_session.pre_visit,
        verdict=verdict,
        decision_due_on=due_on,
        readiness_pct=90,
        chance_to_plan=0.9,
        expected_bench_min=3,
        computed_on=date(2026, 11, 25),
        catalogue_version="2026.1",
    )
    return fit_session


def names_of(fit_sessions):
    return [fit_session.client.name for fit_session in fit_sessions]


def test_today_shows_todays_sessions_with_verdict_and_state(fitter_client, studio):
    """Earliest first, each with rider, bike, fitter, bay, verdict as a word, state and ways on."""
    later = a_session(studio, datetime(2026, 11, 25, 13, tzinfo=UTC), verdict="fix_first")
    sooner = a_session(studio, datetime(2026, 11, 25, 9, tzinfo=UTC))
    a_session(studio, datetime(2026, 11, 26, 9, tzinfo=UTC))
    page = fitter_client.get(HOME)
    assert list(page.context["fit_sessions"]) == [sooner, later]
    html = page.content.decode()
    for text in ["Fix first", "Clear", "booked", str(sooner.client), "Blue road bike", "09:00", str(sooner.bay)]:
        assert text in html
    for name in ("review:session", "bench:home"):
        assert reverse(name, args=[sooner.pk]) in html


def test_a_day_is_the_studios_own(fitter_client, studio):
    """Half past eleven at night in London in June is the next day in UTC's reckoning of an eastern studio."""
    studio.time_zone = "Asia/Tokyo"
    studio.save()
    late = a_session(studio, datetime(2026, 11, 25, 15, 30, tzinfo=UTC))
    assert list(fitter_client.get(HOME, {"day": "2026-11-26"}).context["fit_sessions"]) == [late]
    assert list(fitter_client.get(HOME, {"day": "2026-11-25"}).context["fit_sessions"]) == []


def test_a_day_without_sessions_offers_to_book(fitter_client, studio):
    """An empty day is no dead end."""
    assert reverse("desk_booking:start") in fitter_client.get(HOME, {"day": "2026-11-28"}).content.decode()


def test_a_cancelled_session_is_shown_as_such_and_offers_no_bench(fitter_client, studio):
    """The desk sees that somebody will not come."""
    gone = a_session(studio, datetime(2026, 11, 25, 9, tzinfo=UTC), state="cancelled", occupancy=False)
    html = fitter_client.get(HOME).content.decode()
    assert "cancelled" in html
    assert reverse("bench:home", args=[gone.pk]) not in html


def test_what_is_due_first_comes_first(fitter_client, studio):
    """By the day on which a decision is due, not by the day of the session; what waits for nobody is left out."""
    week = timedelta(days=7)
    a_session(studio, NOW + 4 * week)
    far_but_urgent = a_session(studio, NOW + 3 * week, verdict="fix_first", due_on=date(2026, 11, 25))
    near = a_session(studio, NOW + 1 * week, verdict="ask_rider", due_on=date(2026, 11, 27))
    page = fitter_client.get(HOME)
    assert [row.fit_session for row in page.context["due"]] == [far_but_urgent, near]
    assert "decide today" in page.content.decode()


def test_a_red_flag_is_said_as_such(fitter_client, studio):
    """A stopped session is no matter of the bike."""
    stopped = a_session(studio, datetime(2026, 11, 25, 9, tzinfo=UTC))
    TriageSummary.objects.filter(pre_visit=stopped.pre_visit).update(stopped=True, decision_due_on=date(2026, 11, 25))
    assert "Red flag" in fitter_client.get(HOME).content.decode()


def test_a_session_that_was_never_judged_is_no_error(fitter_client, studio):
    """A summary may be missing for a moment."""
    factories.FitSessionFactory(studio=studio, starts_at=datetime(2026, 11, 25, 9, tzinfo=UTC))
    assert "not judged yet" in fitter_client.get(HOME).content.decode()


@pytest.mark.parametrize("day", ["", "2026-11-25", "2000-01-01", "2199-12-31"])
def test_any_day_of_the_diary_can_be_shown(day, fitter_client, studio):
    """The neighbours of the first and the last day exist as well."""
    assert fitter_client.get(HOME, {"day": day}).status_code == 200


@pytest.mark.parametrize(
    "day", ["tomorrow", "2026-02-30", "9999-12-31", "0001-01-01", "\x00", "-1", "2026-11-25" * 50, "🚲"]
)
def test_a_day_that_is_none_is_said_and_today_is_shown(day, fitter_client, studio):
    """A mistyped address is answered with today, never with an error page."""
    page = fitter_client.get(HOME, {"day": day})
    assert page.status_code == 422
    assert page.context["day"] == date(2026, 11, 25)
    assert "That is not a day" in page.content.decode()


def test_a_fitter_sees_their_own_studio_first(fitter_client, fitter_user, studio):
    """With two studios, the one in which they work."""
    other = factories.studio_with_hours(name="Tarnfell Cycle Fitting")
    own = other.fitters.first()
    own.user = fitter_user
    own.save()
    assert fitter_client.get(HOME).context["studio"] == other


def test_before_the_first_studio_is_set_up_the_page_opens(fitter_client):
    """Staff are told who sets it up."""
    html = fitter_client.get(HOME).content.decode()
    assert "No studio is open for booking yet" in html
    assert "The owner can do this under Records" in html
    assert reverse("admin:fit_sessions_studio_add") not in html


def test_an_owner_is_led_from_an_empty_database_to_the_first_booking(client, owner_user):
    """Each thing that is missing is named with the way to it, until nothing is."""
    client.force_login(owner_user)
    add_studio, add_service = reverse("admin:fit_sessions_studio_add"), reverse("admin:fit_sessions_service_add")
    assert add_studio in client.get(HOME).content.decode()
    studio = factories.StudioFactory()
    html = client.get(HOME).content.decode()
    for words in ("opening hours", "a fitter who takes bookings", "a bay in use", "a service that can be booked"):
        assert f"<li>{words}</li>" in html
    assert reverse("admin:fit_sessions_studio_change", args=[studio.pk]) in html
    factories.FitterFactory(studio=studio)
    factories.BayFactory(studio=studio)
    OpeningHours.objects.create(studio=studio, weekday=0, opens=time(9), closes=time(17))
    html = client.get(HOME).content.decode()
    assert (add_service in html, "opening hours" in html) == (True, False)
    factories.ServiceFactory(studio=studio)
    assert "Before anybody can book" not in client.get(HOME).content.decode()


@pytest.mark.parametrize("rows", ["fitters", "bays", "services"])
def test_what_is_switched_off_is_missing(fitter_client, studio, rows):
    """A bay that is out of use takes nobody."""
    getattr(studio, rows).update(is_active=False)
    assert "Before anybody can book" in fitter_client.get(HOME).content.decode()


def test_the_page_asks_the_same_of_the_database_however_full_the_day(fitter_client, studio, django_assert_num_queries):
    """Session, user, own studio, first studio, sessions, due sessions with their decisions, their number, what is missing."""
    a_session(studio, datetime(2026, 11, 25, 9, tzinfo=UTC), verdict="fix_first", due_on=date(2026, 11, 25))
    fitter_client.get(HOME)
    with django_assert_num_queries(10):
        fitter_client.get(HOME)
    for hour in (12, 15):
        starts_at = datetime(2026, 11, 25, hour, tzinfo=UTC)
        a_session(studio, starts_at, verdict="fix_first", due_on=date(2026, 11, 25))
    with django_assert_num_queries(10):
        fitter_client.get(HOME)


def test_only_staff_come_in(client, studio):
    """Nobody else sees who comes when."""
    answer = client.get(HOME)
    assert (answer.status_code, answer.url) == (302, f"{reverse('login')}?next={HOME}")


def test_only_reading_is_possible(fitter_client, studio):
    """The page changes nothing."""
    assert fitter_client.post(HOME).status_code == 405
