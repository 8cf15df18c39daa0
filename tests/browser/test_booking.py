"""A rider books on a phone, leafing week by week; somebody is faster, and one more tap books another start."""

import re
from datetime import datetime

import pytest
from playwright.sync_api import expect

from sessions.models import FitSession
from tests import factories
from tests.booking import book_one
from tests.browser.conftest import no_sideways_scroll

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def service():
    """Two hours; one fitter and one bay, so that one other rider is enough to be faster."""
    studio = factories.studio_with_hours()
    studio.fitters.last().delete()
    return studio.services.get()


def start_in(link):
    """The instant that a start's link names."""
    return re.search(r"start=([^&]+)", link.get_attribute("href"))[1].replace("%3A", ":")


def choose_a_start(page):
    """From the services to a start in the second week on offer; return its instant."""
    page.goto("/")
    page.get_by_role("link", name="See free times for Full fit").click()
    page.get_by_role("link", name="Later").click()
    expect(page.locator("#week")).to_be_focused()
    expect(page).to_have_url(re.compile(r"week="))
    link = page.locator("a.start").first
    instant = start_in(link)
    link.click()
    return instant


def fill_in(page):
    """The rider's details, by label."""
    page.get_by_label("Your name", exact=True).fill("Ελένη Παπαδοπούλου")
    page.get_by_text("Written in another script?").click()
    page.get_by_label("Your name in Latin letters").fill("Eleni Papadopoulou")
    page.get_by_label("E-mail").fill("eleni@tarnfell.example")
    page.get_by_label("Gravel").check()
    page.get_by_label("Make and model").fill("Green gravel bike")
    page.get_by_label("What do you hope for").fill("No more numb fingers.")


def test_book_on_a_phone(phone, service, axe, screenshot):
    """A forgotten field is found by focus and by link; then the private page opens and says that it is booked."""
    choose_a_start(phone)
    phone.get_by_role("button", name="Book this session").click()
    expect(phone.locator(".error-summary")).to_be_focused()
    axe(phone)
    phone.get_by_role("link", name="Your name: Enter your name").click()
    expect(phone.get_by_label("Your name", exact=True)).to_be_focused()
    fill_in(phone)
    phone.get_by_role("button", name="Book this session").click()
    expect(phone.get_by_role("heading", name="Your session")).to_be_visible()
    expect(phone.locator("#messages")).to_contain_text("Your session is booked")
    expect(phone.get_by_role("link", name="Start the check")).to_be_visible()
    axe(phone, both_widths=True)
    no_sideways_scroll(phone)
    screenshot(phone, "rider-home-booked")


def test_somebody_was_faster(phone, service, axe, screenshot):
    """Nothing typed is lost, and the nearest free start is one tap and one more press away."""
    instant = choose_a_start(phone)
    fill_in(phone)
    book_one(service, datetime.fromisoformat(instant))
    phone.get_by_role("button", name="Book this session").click()
    expect(phone.locator(".error-summary")).to_contain_text("Somebody else was a moment faster")
    axe(phone, both_widths=True)
    no_sideways_scroll(phone)
    screenshot(phone, "booking-somebody-was-faster")
    expect(phone.get_by_label("Your name", exact=True)).to_have_value("Ελένη Παπαδοπούλου")
    expect(phone.get_by_label("What do you hope for")).to_have_value("No more numb fingers.")
    other = phone.locator("input[name=start]").first
    taken = other.get_attribute("value")
    other.check()
    phone.get_by_role("button", name="Book this session").click()
    expect(phone.locator("#messages")).to_contain_text("Your session is booked")
    assert FitSession.objects.filter(client__email="eleni@tarnfell.example", starts_at=taken).exists()


def test_the_desk_finds_a_caller_while_typing(page, service, log_in, fitter_user):
    """The list follows the typing; the known rider's bike is chosen already, and one press books."""
    caller = factories.BikeFactory(client__name="Zofia Łącka", name="Steel tourer").client
    log_in(fitter_user)
    page.goto("/desk/booking/")
    page.get_by_label("Name, e-mail or telephone").press_sequentially("lacka")
    page.get_by_role("link", name="Zofia Łącka").click()
    page.get_by_role("link", name="Full fit").click()
    page.locator("a.start").first.click()
    expect(page.get_by_label("Steel tourer")).to_be_checked()
    page.get_by_role("button", name="Book this session").click()
    expect(page.locator("#messages")).to_contain_text("Booked.")
    assert FitSession.objects.get().client == caller
