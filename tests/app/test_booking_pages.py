"""The public pages: what, when, who; every mistake said in place, nothing typed lost, nothing stored twice."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from sessions.forms.fields import utc_mark
from sessions.models import Closure, Service
from tests import factories
from tests.booking import NOW, START, book_one, form_data

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def service(studio):
    """Two hours, with a quarter of an hour to clear up."""
    return studio.services.get()


@pytest.fixture
def starts_url(service):
    """Where a rider chooses a start."""
    return reverse("booking:starts", args=[service.studio.slug, service.slug])


@pytest.fixture
def details_url(service):
    """Where a rider says who comes."""
    return reverse("booking:details", args=[service.studio.slug, service.slug])


def shown_starts(response):
    """The instants that a page offers as links."""
    found = re.findall(r"[?&;]start=(\d{4}-\d\d-\d\dT\d\d)(?::|%3A)(\d\dZ)", response.content.decode())
    return [":".join(pair) for pair in found]


class TestServices:
    """What can be booked."""

    def test_everything_a_rider_wants_to_know(self, client, service):
        """Name, purpose, length and price of each service, and the studio's welcome."""
        service.studio.welcome = "Bring your shoes."
        service.studio.save()
        page = client.get("/")
        for words in (
            "Wrenfield Cycle Fitting",
            "Bring your shoes.",
            "Full fit",
            "Saddle, bars and cleats",
            "2 h",
            "£180.00",
        ):
            assertContains(page, words)

    def test_what_cannot_be_booked_is_not_shown(self, client, service):
        """Neither a service nor a studio that is switched off."""
        Service.objects.update(is_active=False)
        assertNotContains(client.get("/"), "Full fit")
        Service.objects.update(is_active=True)
        service.studio.is_active = False
        service.studio.save()
        assertNotContains(client.get("/"), "Full fit")

    def test_before_anything_is_set_up(self, client):
        """An empty product has a page, not an error."""
        assertContains(client.get("/"), "Nothing can be booked")

    def test_several_studios(self, client, service):
        """Each with its own services."""
        factories.studio_with_hours(name="Overmere Fitting Room", currency="SEK")
        page = client.get("/")
        assertContains(page, "Overmere Fitting Room")
        assertContains(page, "180.00 SEK")

    @pytest.mark.parametrize("studios", [1, 4])
    def test_queries(self, client, studios, django_assert_num_queries):
        """Studios, their services: two, however many."""
        for number in range(studios):
            factories.studio_with_hours(name=f"Studio {number}")
        with django_assert_num_queries(2):
            client.get("/")


class TestStarts:
    """When."""

    def test_a_week_in_the_studios_time(self, client, starts_url):
        """Days and times as the wall clock shows them, the zone named, each start a link."""
        page = client.get(starts_url)
        assertContains(page, "Europe/London (GMT)")
        assertContains(page, "Tuesday")
        assert shown_starts(page)[:2] == ["2026-03-03T09:00Z", "2026-03-03T09:30Z"]
        assertContains(page, '<h3 id="day-2026-03-03">Tuesday <span class="soft">3 March</span></h3>')
        assertContains(page, '<a class="start" aria-describedby="day-2026-03-03"')

    def test_another_week(self, client, starts_url):
        """The address names the week; a link leads on and back."""
        page = client.get(starts_url, {"week": "2026-03-12"})
        assert shown_starts(page)[0] == "2026-03-09T09:00Z"
        assertContains(page, 'href="?week=2026-03-02"')
        assertContains(page, 'href="?week=2026-03-16"')

    def test_the_week_in_which_the_clocks_change(self, client, service, starts_url):
        """Nine on Friday is 09:00 UTC, nine on Monday after the change is 08:00 UTC, and the page says that the clocks change."""
        page = client.get(starts_url, {"week": "2026-03-27"})
        assertContains(page, "GMT, BST")
        assertContains(page, "The clocks change in this week")
        assert "2026-03-27T09:00Z" in shown_starts(page)
        after = client.get(starts_url, {"week": "2026-03-30"})
        assert shown_starts(after)[0] == "2026-03-30T08:00Z"
        assertContains(after, ">09:00<")

    @pytest.mark.parametrize(
        "week", ["", "tomorrow", "2026-13-45", "x\x00y", "0001-01-01", "9999-12-31", "-1", "1" * 400]
    )
    def test_any_week_in_the_address(self, client, starts_url, week):
        """A mistyped week is no error: some week is shown."""
        assertContains(client.get(starts_url, {"week": week}), 'id="starts"')

    def test_a_week_on_holiday(self, client, service, starts_url):
        """An empty week says so and leads to the next start."""
        Closure.objects.create(studio=service.studio, first_day=date(2026, 3, 9), last_day=date(2026, 3, 13))
        page = client.get(starts_url, {"week": "2026-03-09"})
        assertContains(page, "Nothing is free in this week.")
        assertContains(page, 'href="?week=2026-03-16"')

    def test_nothing_free_at_all(self, client, service, starts_url):
        """Then the studio's address is what helps."""
        service.studio.fitters.update(is_active=False)
        assertContains(client.get(starts_url), 'Write to <a href="mailto:studio@wrenfield.example">')

    def test_htmx_gets_the_same_part(self, client, starts_url):
        """The fragment is the page's own part."""
        whole = client.get(starts_url, {"week": "2026-03-16"})
        part = client.get(starts_url, {"week": "2026-03-16"}, headers={"HX-Request": "true"})
        assert part.content.decode().lstrip().startswith('<div id="starts"')
        assert shown_starts(part) == shown_starts(whole)
        assert "HX-Request" in part["Vary"]

    @pytest.mark.parametrize("sessions", [0, 12])
    def test_queries(self, client, service, starts_url, sessions, django_assert_num_queries):
        """The service, and five for the diary, however full it is."""
        for number in range(sessions):
            day = START + timedelta(days=number // 2 % 4, weeks=number // 8)
            fitter, bay = service.studio.fitters.all()[number % 2], service.studio.bays.all()[number % 2]
            factories.FitSessionFactory(studio=service.studio, starts_at=day, fitter=fitter, bay=bay)
        with django_assert_num_queries(6):
            client.get(starts_url, {"week": "2026-03-09"})


class TestAddresses:
    """Addresses that lead nowhere."""

    @pytest.mark.parametrize("name", ["booking:starts", "booking:details"])
    def test_unknown_or_switched_off(self, client, service, name):
        """An unknown studio or service, another studio's service, one that is switched off: not found."""
        other = factories.ServiceFactory(slug="elsewhere")
        slug = service.studio.slug
        for slugs in ([slug, "nothing"], ["nowhere", service.slug], [slug, other.slug]):
            assert client.get(reverse(name, args=slugs)).status_code == 404
            assert client.post(reverse(name, args=slugs)).status_code in (404, 405)
        Service.objects.update(is_active=False)
        assert client.get(reverse(name, args=[slug, service.slug])).status_code == 404
        assert client.post(reverse("booking:details", args=[slug, service.slug]), form_data()).status_code == 404

    def test_wrong_methods(self, client, starts_url, details_url):
        """Reading pages are read, the form is sent."""
        assert client.post("/").status_code == 405
        assert client.post(starts_url).status_code == 405
        assert client.delete(details_url).status_code == 405

    @pytest.mark.parametrize(
        "path", ["/book/x%00y/full-fit/", "/book/wren%0afield/full-fit/", "/book/../full-fit/details/"]
    )
    def test_malformed_paths(self, client, studio, path):
        """No such address, and no error page of the database's making."""
        assert client.get(path).status_code == 404


class TestChosenStart:
    """The page that a start's link opens."""

    def test_the_form_names_the_start(self, client, details_url):
        """Day, time, zone and service stand over the form."""
        page = client.get(details_url, {"start": utc_mark(START)})
        assertContains(page, "Tuesday 10 March 2026, 10:00")
        assertContains(page, 'value="2026-03-10T10:00Z"')
        assertContains(page, "belongs with a doctor or physiotherapist")

    def test_in_local_time_after_the_change(self, client, details_url):
        """Eight UTC on 31 March is nine o'clock British Summer Time."""
        page = client.get(details_url, {"start": "2026-03-31T08:00Z"})
        assertContains(page, "Tuesday 31 March 2026, 09:00")

    @pytest.mark.parametrize(
        "start",
        [
            *("", "soon", "2026-03-10", "2026-03-10T10:00", "0001-01-01T00:00+23:59", "x\x00y", "T" * 500, "١٢"),
            *("0001-01-01T00:00Z", "1999-12-31T23:59Z", "2200-01-01T00:00Z", "9999-12-31T23:59Z"),
        ],
    )
    def test_a_malformed_start(self, client, starts_url, details_url, start):
        """A cut-off or mistyped link leads back to the list, with a word of explanation."""
        response = client.get(details_url, {"start": start})
        assertRedirects(response, starts_url, fetch_redirect_response=False)
        assertContains(client.get(starts_url), "That link names no time")

    @pytest.mark.parametrize(
        ("start", "words"),
        [
            ("2026-03-02T07:00Z", "That time has passed."),
            ("2026-03-02T14:00Z", "That time is too soon"),
            ("2026-09-01T09:00Z", "that far ahead"),
            ("2026-03-10T10:05Z", "starts no session of this length"),
            ("2026-03-10T03:00Z", "starts no session of this length"),
        ],
    )
    def test_a_start_that_is_not_on_offer(self, client, details_url, start, words):
        """The reason in words, and the nearest starts that are."""
        page = client.get(details_url, {"start": start})
        assert page.status_code == 409
        assertContains(page, words, status_code=409)
        assert len(shown_starts(page)) == 6

    def test_a_start_that_somebody_took(self, client, service, details_url):
        """A stale link is no dead end."""
        for _ in range(2):
            book_one(service)
        page = client.get(details_url, {"start": utc_mark(START)})
        assertContains(page, "Somebody else was a moment faster", status_code=409)
        assert "2026-03-10T12:30Z" in shown_starts(page)

    def test_queries(self, client, details_url, django_assert_num_queries):
        """The service, and five for the day."""
        with django_assert_num_queries(6):
            client.get(details_url, {"start": utc_mark(START)})
