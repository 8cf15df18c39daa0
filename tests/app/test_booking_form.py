"""The form on its way: every mistake said in place, nothing typed lost, nothing stored twice, a lost race told kindly."""

import re
from datetime import timedelta
from uuid import UUID, uuid4

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from intake.models import Client, OutgoingMail
from sessions.models import FitSession
from tests import factories
from tests.booking import NOW, RIDER, START, book_one, form_data

pytestmark = pytest.mark.django_db

EVIL = [
    "<script>alert(1)</script>",
    "🚲🔥",
    "\u202eחדש\u202c",
    "x\x00y",
    "NaN",
    "-1",
    "' OR 1=1 --",
    "\ud83d".encode("utf-8", "replace").decode(),
    "9" * 5000,
]


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
def details_url(service):
    """Where a rider says who comes."""
    return reverse("booking:details", args=[service.studio.slug, service.slug])


class TestSend:
    """The form on its way."""

    def test_it_books_and_opens_the_private_page(self, client, details_url):
        """One redirect to the rider's own page, which says that it is booked."""
        response = client.post(details_url, form_data())
        fit_session = FitSession.objects.get()
        assertRedirects(response, fit_session.pre_visit.links.get().get_absolute_url(), fetch_redirect_response=False)
        assertContains(client.get(response.url), f"Your session is booked. The confirmation goes to {RIDER.email}.")
        assert (fit_session.starts_at, fit_session.wish) == (START, "Ride all day without a sore neck.")
        assert fit_session.client.phone.as_e164 == RIDER.phone

    def test_twice_is_once(self, client, details_url):
        """A double tap and a reload both end on the same page."""
        data = form_data()
        first, second = (client.post(details_url, data) for _ in range(2))
        assert first.url == second.url
        assert FitSession.objects.count() == OutgoingMail.objects.count() == 1

    def test_the_same_form_for_somebody_else(self, client, details_url):
        """It tells nothing of the first rider, keeps what was typed, and can be sent again as a new form."""
        data = form_data()
        client.post(details_url, data)
        other = data | {"name": "Osk Brynn", "email": "osk@tarnfell.example"}
        again = client.post(details_url, other)
        assertContains(again, "This form has already made a booking", status_code=422)
        assertContains(again, 'value="Osk Brynn"', status_code=422)
        assertNotContains(again, "Kvalheim", status_code=422)
        key = again.context["form"]["request_key"].value()
        assert str(key) != data["request_key"]
        assert client.post(details_url, other | {"request_key": key}).status_code == 302
        assert FitSession.objects.count() == 2

    def test_a_known_address_looks_like_any_other(self, client, details_url):
        """Nobody learns from the form who is a client."""
        factories.ClientFactory(email=RIDER.email, name="Somebody Else")
        known = client.post(details_url, form_data(name=""))
        unknown = client.post(details_url, form_data(name="", email="new@tarnfell.example"))
        changing = re.compile(r'value="[^"]*"|"x-csrftoken": "[^"]*"|[a-z]+@tarnfell.example')
        assert changing.sub("", known.content.decode()) == changing.sub("", unknown.content.decode())

    def test_any_human_name(self, client, details_url):
        """Scripts, apostrophes, hyphens, one letter; spaces are tidied and turning marks dropped."""
        names = [
            "Ó",
            "O’Brien-Ñandú",
            "李小龍",
            "محمد",
            "Nguyễn Thị  Ánh",
            "\u202eanna\u202c",
            "X Æ 12",
            "J.R. St.John",
        ]
        kept = ["Ó", "O’Brien-Ñandú", "李小龍", "محمد", "Nguyễn Thị Ánh", "anna", "X Æ 12", "J.R. St.John"]
        for number, name in enumerate(names):
            start = START + timedelta(days=7 * (number // 3), hours=number % 3 * 2.5 - 1)
            assert client.post(details_url, form_data(start, name=name)).status_code == 302
        assert list(Client.objects.order_by("pk").values_list("name", flat=True)) == kept

    def test_a_robot_is_stopped_and_a_person_is_told(self, client, details_url):
        """The hidden field appears with its reason; everything else is still there."""
        page = client.post(details_url, form_data(leave_empty="http://spam.example"))
        assertContains(page, "it is there to stop robots", status_code=422)
        assertContains(page, f'value="{RIDER.name}"', status_code=422)
        assertNotContains(page, '<div class="visually-hidden"><div class="field', status_code=422)
        assert not FitSession.objects.exists()


class TestMistakes:
    """Bad input: said beside the field, in words, with everything typed still there."""

    @pytest.mark.parametrize(
        ("field", "value", "words"),
        [
            ("name", "", "Enter your name"),
            ("name", "  \t ", "Enter your name"),
            ("name", "🚲", "Write this in letters"),
            ("name", "x\x00y", "cannot be printed"),
            ("name", "x\x07y", "cannot be printed"),
            ("name", "n" * 201, "at most 200"),
            ("name", "You have won https://evil.tarnfell.example/now", "leave web addresses out"),
            ("bike_name", "Claim it at WWW.evil.tarnfell.example", "leave web addresses out"),
            ("bike_name", "evil.example/claim", "leave web addresses out"),
            ("latin_name", "Елена", "is not a Latin letter"),
            ("email", "", "Enter your e-mail address"),
            ("email", "ilse@", "such as name@example.org"),
            ("email", "ilse@tarn\x00fell.example", "such as name@example.org"),
            ("email", "i" * 250 + "@tarnfell.example", "at most 254"),
            ("phone", "12", "That number cannot be called"),
            ("phone", "call me", "That number cannot be called"),
            ("phone", "9" * 400, "That number cannot be called"),
            ("bike_name", "", "Say which bike"),
            ("bike_kind", "", "Choose the kind"),
            ("bike_kind", "unicycle", "unicycle is not one of the available choices"),
            ("length_unit", "ell", "ell is not one of the available choices"),
            ("wish", "w" * 2001, "at most 2000"),
            ("wish", "x\x00y", "Null characters"),
        ],
    )
    def test_each_field(self, client, details_url, field, value, words):
        """The reason stands at the field and in the summary; the start and the rest are kept; nothing is stored."""
        page = client.post(details_url, form_data(**{field: value}))
        assert page.status_code == 422
        html = page.content.decode()
        assert html.count(words) >= 2
        assert f'id="id_{field}_error"' in html or field in ("bike_kind", "length_unit")
        assert 'value="2026-03-10T10:00Z"' in html
        for kept in {"name", "email", "bike_name"} - {field}:
            assert f'value="{form_data()[kept]}"' in html
        assert not FitSession.objects.exists()
        assert not Client.objects.exists()

    @pytest.mark.parametrize("evil", EVIL)
    @pytest.mark.parametrize("field", [*form_data(), "leave_empty", "latin_name"])
    def test_no_input_breaks_it(self, client, details_url, field, evil):
        """Whatever stands in whichever field, the answer is a booking or a page that says what is wrong."""
        page = client.post(details_url, form_data() | {field: evil})
        assert page.status_code in (302, 422)
        assert b"<script>alert" not in page.content
        assert FitSession.objects.count() == (page.status_code == 302)

    def test_nothing_at_all(self, client, details_url):
        """An empty post gets the whole form back with every reason and a start to choose."""
        page = client.post(details_url)
        assertContains(page, "Choose a time", status_code=422)
        assertContains(page, "Enter your name", status_code=422)

    def test_the_reasons_stand_in_the_order_of_the_page(self, client, details_url):
        """Whoever follows the summary walks down the form once."""
        html = client.post(details_url).content.decode()
        summary, form = html.split("</form>")[0].split("error-summary")[1].split("</ul>", 1)
        for part in (summary.replace('href="#', 'id="'), form):
            places = [part.index(f'id="id_{name}') for name in ("name", "email", "bike_kind", "bike_name")]
            assert places == sorted(places)

    def test_the_field_for_another_script_opens_where_it_is_needed(self, client, details_url):
        """It is folded away from everybody else."""
        folded, opened = '<details class="other-script">', '<details class="other-script" open>'
        assertContains(client.post(details_url, form_data(email="")), folded, status_code=422)
        assertContains(client.post(details_url, form_data(latin_name="Елена")), opened, status_code=422)

    @pytest.mark.parametrize("key", ["", "x", "0" * 300])
    def test_a_form_without_its_key(self, client, details_url, key):
        """It is not trusted to be new, gets a fresh key, and goes through when it is sent again."""
        data = form_data(request_key=key)
        page = client.post(details_url, data)
        assertContains(page, "open for too long", status_code=422)
        fresh = page.context["form"]["request_key"].value()
        assert UUID(fresh)
        assert client.post(details_url, data | {"request_key": fresh}).status_code == 302

    def test_a_forged_csrf_token(self, service, details_url):
        """A form from another site is refused with a way to go on."""
        page = Browser(enforce_csrf_checks=True).post(details_url, form_data())
        assert page.status_code == 403
        assert not FitSession.objects.exists()


class TestLostRace:
    """Somebody else was faster between the page and its sending."""

    @pytest.fixture
    def page(self, client, service, details_url):
        """The answer to a form whose start is gone."""
        for _ in range(2):
            book_one(service)
        return client.post(details_url, form_data(name="Osk Brynn", email="osk@tarnfell.example"))

    def test_it_is_said_kindly(self, page):
        """In words that blame nobody, and nothing of theirs is stored."""
        assertContains(page, "Somebody else was a moment faster", status_code=422)
        assert not Client.objects.filter(name="Osk Brynn").exists()

    def test_everything_typed_is_still_there(self, page):
        """Every field has what it had."""
        form = page.context["form"]
        typed = form_data(name="Osk Brynn", email="osk@tarnfell.example")
        assert {name: form[name].value() for name in typed if name not in ("start", "request_key")} == {
            name: value for name, value in typed.items() if name not in ("start", "request_key")
        }

    def test_the_nearest_starts_are_offered(self, page):
        """Six of them, in the order of the day, in local time, none of them chosen for the rider."""
        html = page.content.decode()
        offered = re.findall(r'type="radio" name="start" value="([^"]+)"', html)
        assert offered[:2] == ["2026-03-09T14:30Z", "2026-03-10T12:30Z"]
        assert len(offered) == 6
        assert "Tuesday 10 March, 12:30 GMT" in html
        assert not re.search(r'name="start"[^>]*checked', html)

    def test_one_more_tap_books(self, client, page, details_url):
        """The same form with one of the offered starts goes through."""
        form = page.context["form"]
        data = {name: form[name].value() or "" for name in form.fields} | {"start": "2026-03-10T12:30Z"}
        assert client.post(details_url, data).status_code == 302
        assert FitSession.objects.filter(client__name="Osk Brynn", starts_at="2026-03-10T12:30Z").exists()

    @pytest.mark.parametrize("start", ["2026-03-02T07:00Z", "2026-03-10T10:05Z", "2030-01-01T09:00Z", "never"])
    def test_a_forged_start(self, client, service, details_url, start):
        """A start that was never on offer is refused in the same way."""
        page = client.post(details_url, form_data() | {"start": start})
        assert page.status_code == 422
        assert 'type="radio" name="start"' in page.content.decode()
        assert not FitSession.objects.exists()

    def test_nothing_else_is_free(self, client, service, details_url):
        """Then the page says whom to write to, and keeps what was typed."""
        service.studio.fitters.update(is_active=False)
        page = client.post(details_url, form_data())
        assertContains(page, "Nothing is free", status_code=422)
        assertContains(page, f'value="{RIDER.name}"', status_code=422)


def test_booking_takes_as_many_queries_in_a_full_diary(client, service, details_url):
    """What a booking costs does not grow with what is booked already."""
    client.post(details_url, form_data(START - timedelta(days=1)))
    with CaptureQueriesContext(connection) as first:
        client.post(details_url, form_data(START, request_key=str(uuid4()), email="a@tarnfell.example"))
    for hour in (9, 13):
        book_one(service, (START + timedelta(days=2)).replace(hour=hour))
    with CaptureQueriesContext(connection) as later:
        client.post(details_url, form_data(START + timedelta(days=2, hours=1, minutes=30), email="b@tarnfell.example"))
    assert len(first) == len(later)
