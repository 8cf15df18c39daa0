"""Staff log in with the keyboard alone, and are told kindly when the password is wrong."""

from playwright.sync_api import expect

from tests import factories
from tests.browser.conftest import no_sideways_scroll


def test_a_wrong_password_is_said_and_focus_goes_to_what_is_wrong(page, phone, axe, screenshot, db):
    """The error summary takes focus; the page has no barrier in either colour scheme."""
    factories.UserFactory(username="marit")
    page.goto("/accounts/login/")
    axe(page, both_widths=True)
    page.get_by_label("Username").fill("marit")
    page.get_by_label("Password").fill("not this one")
    page.keyboard.press("Enter")
    expect(page.locator(".error-summary")).to_be_focused()
    axe(page)
    no_sideways_scroll(page)
    screenshot(page, "login-refused")
