"""The desk books for a caller: the same rules as for riders, less the notice; a known rider, bike, fitter or bay if wanted."""

import re

import pytest
import time_machine
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from intake.models import Bike, Client
from sessions.forms.fields import utc_mark
from sessions.models import FitSession, Service
from tests import factories
from tests.booking import NOW, RIDER, START, book_one, form_data

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
def caller():
    """A rider whom the studio knows, with a bike."""
    return factories.BikeFactory(
        client__name="Zofia Łącka", client__email="zofia@tarnfell.example", name="Steel tourer"
    ).client


@pytest.fixture
def details_url(service):
    """Where the desk takes the rider's details."""
    return reverse("desk_booking:details", args=[service.pk])


def known_caller_data(caller, **changes):
    """What the desk posts for a rider whom it knows."""
    data = form_data(client=caller.pk, bike=caller.bikes.get().pk) | changes
    return {name: value for name, value in data.items() if name not in ("name", "email", "phone", "length_unit")}


class TestWhoAndWhat:
    """Find the caller and choose a service."""

    def test_a_caller_is_found_however_they_are_spelled(self, fitter_client, caller, service):
        """Without accents, in any order; each result leads on with this rider."""
        page = fitter_client.get(reverse("desk_booking:start"), {"q": "lacka zofia"})
        assertContains(page, "Zofia Łącka")
        assertContains(page, f"?client={caller.pk}")
        assertContains(page, "Steel tourer")

    def test_the_desk_can_type_at_once(self, fitter_client, caller, service):
        """The cursor stands in the search until somebody is found."""
        assertContains(fitter_client.get("/desk/booking/"), " autofocus")
        assertNotContains(fitter_client.get("/desk/booking/", {"client": caller.pk}), " autofocus")

    def test_nobody_found(self, fitter_client, service):
        """It says so and goes on with a new rider."""
        assertContains(fitter_client.get(reverse("desk_booking:start"), {"q": "nobody"}), "Nobody is known by that")

    def test_the_chosen_caller_goes_along(self, fitter_client, caller, service):
        """From the service to the starts to the form."""
        page = fitter_client.get(reverse("desk_booking:start"), {"client": caller.pk})
        starts = f"{reverse('desk_booking:starts', args=[service.pk])}?client={caller.pk}"
        assertContains(page, starts)
        week = fitter_client.get(starts)
        found = re.search(r'class="start"[^>]* href="([^"]+)"', week.content.decode())[1].replace("&amp;", "&")
        assert f"client={caller.pk}" in found
        assertContains(fitter_client.get(found), "Zofia Łącka")

    def test_htmx_gets_the_list_alone(self, fitter_client, caller, service):
        """Typing shortens the trip."""
        part = fitter_client.get(reverse("desk_booking:start"), {"q": "zofia"}, headers={"HX-Request": "true"})
        assert part.content.decode().strip().startswith('<div id="callers"')

    @pytest.mark.parametrize("q", ["x\x00y", "q" * 300])
    def test_a_search_that_cannot_be(self, fitter_client, service, q):
        """It is refused at the field."""
        assert fitter_client.get(reverse("desk_booking:start"), {"q": q}).status_code == 422

    @pytest.mark.parametrize("forged", ["0", "-1", "x\x00y", "9" * 60, "NaN"])
    def test_a_forged_client(self, fitter_client, service, details_url, forged):
        """Nobody is known by it: the pages are those for a new rider."""
        for url in (reverse("desk_booking:starts", args=[service.pk]), details_url):
            page = fitter_client.get(url, {"client": forged, "start": utc_mark(START)})
            assertContains(page, "For a new rider" if url != details_url else "The rider")

    @pytest.mark.parametrize("callers", [1, 10])
    def test_queries(self, fitter_client, service, callers, django_assert_num_queries):
        """As many for ten callers as for one: log-in and user, clients and bikes, studios and services, the page’s own studio."""
        for number in range(callers):
            factories.BikeFactory(client__name=f"Anna {number}")
        with django_assert_num_queries(7):
            fitter_client.get(reverse("desk_booking:start"), {"q": "anna"})


class TestStarts:
    """When, and with whom."""

    def test_short_notice_is_on_offer(self, fitter_client, client, service):
        """Today, where the public page begins tomorrow; never the past."""
        page = fitter_client.get(reverse("desk_booking:starts", args=[service.pk]))
        assertContains(page, "2026-03-02T09%3A00Z")
        assertNotContains(page, "2026-03-02T07")

    def test_a_named_fitter(self, fitter_client, service):
        """Only that fitter's free time is shown, and the name goes along to the form."""
        busy = book_one(service).fit_session.fitter
        url = reverse("desk_booking:starts", args=[service.pk])
        page = fitter_client.get(url, {"fitter": busy.pk, "week": "2026-03-10"})
        assertNotContains(page, "2026-03-10T10%3A00Z")
        assertContains(page, f"fitter={busy.pk}")
        other = service.studio.fitters.exclude(pk=busy.pk).get()
        assertContains(fitter_client.get(url, {"fitter": other.pk, "week": "2026-03-10"}), "2026-03-10T10%3A00Z")

    def test_a_forged_fitter(self, fitter_client, service):
        """It is named as unknown, and everybody's starts are shown."""
        page = fitter_client.get(reverse("desk_booking:starts", args=[service.pk]), {"fitter": "x"})
        assertContains(page, "This fitter takes no bookings here")
        assertContains(page, 'class="start"')

    @pytest.mark.parametrize("pk", [0, 10**25])
    def test_an_unknown_service(self, fitter_client, service, pk):
        """Not found."""
        for name in ("starts", "details"):
            assert fitter_client.get(reverse(f"desk_booking:{name}", args=[pk])).status_code == 404

    def test_a_service_that_is_switched_off(self, fitter_client, service, details_url):
        """Not for the desk either."""
        Service.objects.update(is_active=False)
        assert fitter_client.post(details_url, form_data()).status_code == 404


class TestBook:
    """The desk's form."""

    def test_a_new_rider(self, fitter_client, fitter_user, details_url):
        """The session is booked by whoever is logged in, and the desk sees what to do next."""
        response = fitter_client.post(details_url, form_data())
        fit_session = FitSession.objects.get()
        assertRedirects(response, reverse("desk_booking:session", args=[fit_session.pk]), fetch_redirect_response=False)
        assert fit_session.history.get().changed_by == fitter_user
        page = fitter_client.get(response.url)
        assertContains(page, f"The confirmation goes to {RIDER.email}")
        assertContains(page, fit_session.pre_visit.links.get().get_absolute_url())
        assertContains(page, reverse("desk_check:start", args=[fit_session.pre_visit_id]))

    def test_a_known_rider_with_a_known_bike(self, fitter_client, details_url, caller):
        """Nothing is asked twice and nobody is made twice."""
        page = fitter_client.get(details_url, {"start": utc_mark(START), "client": caller.pk})
        assertNotContains(page, 'name="email"')
        assert fitter_client.post(details_url, known_caller_data(caller)).status_code == 302
        fit_session = FitSession.objects.get()
        assert (fit_session.client, fit_session.bike) == (caller, caller.bikes.get())
        assert (Client.objects.count(), Bike.objects.count()) == (1, 1)

    def test_a_known_rider_with_a_new_bike(self, fitter_client, details_url, caller):
        """The new bike becomes one of theirs."""
        assert fitter_client.post(details_url, known_caller_data(caller, bike="")).status_code == 302
        assert FitSession.objects.get().bike.name == "Blue road bike"
        assert caller.bikes.count() == 2

    def test_some_bike_must_be_named(self, fitter_client, details_url, caller):
        """Neither a known one nor a new one is a mistake, said at the fields of the new one."""
        page = fitter_client.post(details_url, known_caller_data(caller, bike="", bike_name="", bike_kind=""))
        assertContains(page, "Say which bike the rider will bring", status_code=422)
        assertContains(page, "Choose the kind", status_code=422)

    def test_what_is_missing_is_said_to_the_desk(self, fitter_client, details_url):
        """Not in the words of the rider's own page, whose form is the same."""
        page = fitter_client.post(details_url, {"start": utc_mark(START)})
        assertContains(page, "Enter the rider’s e-mail address.", status_code=422)
        assertNotContains(page, "Enter your", status_code=422)

    def test_another_riders_bike(self, fitter_client, details_url, caller):
        """A forged bike is refused."""
        other = factories.BikeFactory()
        page = fitter_client.post(details_url, known_caller_data(caller, bike=other.pk))
        assertContains(page, "not one of this rider’s", status_code=422)
        assert not FitSession.objects.exists()

    def test_a_named_fitter_and_bay(self, fitter_client, service, details_url):
        """They are the ones who take it."""
        fitter, bay = service.studio.fitters.last(), service.studio.bays.last()
        assert fitter_client.post(details_url, form_data(fitter=fitter.pk, bay=bay.pk)).status_code == 302
        assert (FitSession.objects.get().fitter, FitSession.objects.get().bay) == (fitter, bay)

    def test_a_named_fitter_who_is_busy(self, fitter_client, service, details_url):
        """The overlap is refused, and only this fitter's other starts are offered."""
        busy = book_one(service).fit_session.fitter
        page = fitter_client.post(details_url, form_data(fitter=busy.pk, email="b@tarnfell.example"))
        assertContains(page, "Somebody else was a moment faster", status_code=422)
        offered = re.findall(r'type="radio" name="start" value="([^"]+)"', page.content.decode())
        assert "2026-03-10T12:30Z" in offered
        assert "2026-03-10T09:30Z" not in offered

    @pytest.mark.parametrize("field", ["fitter", "bay"])
    @pytest.mark.parametrize("value", ["0", "x", "-1", "9" * 60])
    def test_a_forged_fitter_or_bay(self, fitter_client, details_url, field, value):
        """Refused at the field, everything else kept."""
        page = fitter_client.post(details_url, form_data() | {field: value})
        assertContains(page, "Choose another one", status_code=422)
        assertContains(page, f'value="{RIDER.name}"', status_code=422)

    def test_another_studios_fitter(self, fitter_client, details_url):
        """A fitter elsewhere cannot be booked here."""
        page = fitter_client.post(details_url, form_data(fitter=factories.FitterFactory().pk))
        assertContains(page, "takes no bookings here", status_code=422)

    def test_short_notice(self, fitter_client, details_url):
        """An hour from now, which the public page refuses."""
        soon = NOW.replace(hour=9)
        assert fitter_client.post(details_url, form_data(soon)).status_code == 302

    def test_twice_is_once(self, fitter_client, details_url, caller):
        """The desk's double tap is one booking, too."""
        data = known_caller_data(caller)
        first, second = (fitter_client.post(details_url, data) for _ in range(2))
        assert first.url == second.url
        assert FitSession.objects.count() == 1

    def test_a_lost_race_keeps_everything(self, fitter_client, service, details_url, caller):
        """The known rider, the bike and the wish stay; one of the nearest starts goes through."""
        for _ in range(2):
            book_one(service)
        page = fitter_client.post(details_url, known_caller_data(caller))
        assertContains(page, "Somebody else was a moment faster", status_code=422)
        form = page.context["form"]
        data = {name: form[name].value() or "" for name in form.fields} | {"start": "2026-03-10T12:30Z"}
        assert fitter_client.post(details_url, data).status_code == 302
        assert FitSession.objects.get(client=caller).wish == form_data()["wish"]

    @pytest.mark.parametrize("start", ["soon", "0001-01-01T00:00Z", "9999-12-31T23:59Z"])
    def test_a_malformed_start_leads_back(self, fitter_client, service, details_url, start):
        """A cut-off link is no dead end."""
        response = fitter_client.get(details_url, {"start": start})
        assertRedirects(response, reverse("desk_booking:starts", args=[service.pk]), fetch_redirect_response=False)


class TestAccess:
    """The desk is for staff."""

    @pytest.mark.parametrize("name", ["start", "starts", "details"])
    def test_nobody_else(self, client, service, name):
        """Others are sent to the log-in, whatever they send."""
        url = reverse(f"desk_booking:{name}", args=[] if name == "start" else [service.pk])
        for response in (client.get(url), client.post(url, form_data())):
            assert response.status_code == 302
            assert response.url.startswith(reverse("login"))
        assert not FitSession.objects.exists()

    def test_kept_out_of_caches(self, fitter_client, service):
        """Pages with riders on them are not kept."""
        assert "no-store" in fitter_client.get(reverse("desk_booking:start"))["Cache-Control"]
