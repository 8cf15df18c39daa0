"""The desk by keyboard: find a client as one types, follow a mail to the rider's page; the records keep to the content policy."""

import re

import pytest
from playwright.sync_api import expect

from intake.models import RiderLink
from tests import factories


def test_a_client_is_found_while_typing_and_opened_by_keyboard(page, log_in, fitter_user, fit_session):
    """The list follows the typing without a reload, says how many there are, and the first is one Tab and Enter away."""
    person = fit_session.client
    person.name = "Zofia Łącka"
    person.save()
    factories.ClientFactory.create_batch(3)
    log_in(fitter_user)
    page.goto("/desk/clients/")
    page.get_by_label("Name, e-mail or telephone").focus()
    page.keyboard.type("lacka")
    expect(page.get_by_role("heading", name="1 client found")).to_be_visible()
    expect(page.locator("#found-count")).to_have_text("1 client found")
    expect(page.get_by_label("Name, e-mail or telephone")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1, name="Zofia Łącka")).to_be_visible()


def test_the_search_works_without_javascript(page, chromium, live_server, log_in, fitter_user, fit_session):
    """A plain form does the same."""
    cookies = log_in(fitter_user).context.cookies()
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies(cookies)
    plain = context.new_page()
    plain.goto("/desk/clients/")
    plain.get_by_label("Name, e-mail or telephone").fill(fit_session.client.name)
    plain.get_by_role("button", name="Find").click()
    expect(plain.get_by_role("heading", name="1 client found")).to_be_visible()
    context.close()


def test_a_new_link_is_mailed_and_followed_from_the_sent_mail_page(page, log_in, fitter_user, fit_session, rider_link):
    """As in the demo: from the client, by the mail, to the rider's own page."""
    log_in(fitter_user)
    page.goto(f"/desk/clients/{fit_session.client_id}/")
    page.get_by_text("Private link: open").click()
    page.get_by_role("button", name="New link, mailed to the rider").click()
    expect(page.locator("#messages")).to_contain_text(fit_session.client.email)
    page.get_by_role("link", name="Sent mail").click()
    new = RiderLink.objects.get(revoked_at=None)
    page.get_by_role("link", name=new.token).click()
    expect(page).to_have_url(re.compile(re.escape(new.token)))


RECORDS = [
    *("", "intake/client/?q=a", "intake/bike/add/", "fit_sessions/studio/{studio}/change/"),
    *("fit_sessions/service/add/", "fit_sessions/fitsession/{session}/change/", "intake/outgoingmail/"),
]


@pytest.mark.parametrize("address", RECORDS)
def test_the_records_open_without_a_console_error(address, page, log_in, owner_user, fit_session):
    """Django's own pages, their pickers and searches too, keep to the content policy."""
    log_in(owner_user)
    path = address.format(studio=fit_session.studio_id, session=fit_session.pk)
    assert page.goto(f"/records/{path}").status == 200
    expect(page.get_by_role("link", name="Studio records")).to_be_visible()


def test_a_client_is_picked_by_searching_in_the_records(page, log_in, owner_user):
    """The search box of a long list works under the content policy, and finds without accents."""
    factories.ClientFactory(name="Zofia Łącka")
    log_in(owner_user)
    page.goto("/records/intake/bike/add/")
    page.locator(".select2-selection").first.click()
    page.locator(".select2-search__field").fill("lacka")
    page.locator(".select2-results__option", has_text="Zofia Łącka").click()
    expect(page.locator(".select2-selection__rendered")).to_contain_text("Zofia Łącka")
