"""The fitter reviews sessions with the keyboard alone: what is decided is computed again in place."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from intake.models import FindingDecision
from intake.services.discomfort import Felt, save_discomfort
from intake.slots import slot_of
from sessions.models import FitSession, SlotDecision
from tests import factories
from tests.booking import book_one
from tests.browser.conftest import no_sideways_scroll, tab_to
from tests.reviewing import all_answered, answered

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def booked(studio):
    """A stuck post, one-sided saddle perhaps, worn cleats, a sore knee; some weeks from now."""
    start = factories.weekday_from_now(20, 10)
    fit_session = book_one(studio.services.get(), start=start).fit_session
    all_answered(fit_session, post_slides="stuck", saddle_shell="slightly", cleat_wear="past_marker")
    save_discomfort(
        pre_visit=fit_session.pre_visit,
        session_slot=slot_of(fit_session.pre_visit_id),
        area="knee_front",
        side="left",
        felt=Felt(6, 40),
    )
    return fit_session


@pytest.fixture
def fitter(log_in, fitter_user):
    """A page in which a fitter is logged in."""
    return log_in(fitter_user)


def test_a_decision_is_computed_again_in_place(fitter, booked, axe, screenshot):
    """From the list to a finding and a tap on it, with the keyboard: figures change, the focus stays, nothing is loaded anew."""
    page = fitter
    page.goto(reverse("review:list"))
    axe(page, both_widths=True)
    no_sideways_scroll(page)
    tab_to(page, page.get_by_role("link", name=booked.client.name))
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(booked.client.name)
    axe(page, both_widths=True)
    screenshot(page, "review-session")
    page.evaluate("window.stillHere = true")
    before = page.locator(".figures").inner_text()
    button = page.locator("#fix_first-post_slides-stuck")
    tab_to(page, button)
    page.keyboard.press("Enter")
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(button).to_be_focused()
    expect(page.locator("#messages")).to_contain_text("Seatpost stuck in the frame: fix before the session.")
    assert page.locator(".figures").inner_text() != before
    assert page.evaluate("window.stillHere") is True
    axe(page)
    back = page.locator("#take_back-post_slides-stuck")
    tab_to(page, back)
    page.keyboard.press("Enter")
    expect(back).to_have_count(0)
    assert page.locator(".figures").inner_text() == before
    assert list(FindingDecision.objects.order_by("pk").values_list("ruling", flat=True)) == ["fix_first", ""]


def test_a_refused_note_takes_focus_and_loses_nothing(fitter, booked, axe):
    """The error summary is read first; the text is still beside its finding."""
    page = fitter
    page.goto(reverse("review:session", args=[booked.pk]))
    finding = page.locator("#finding-post_slides-stuck")
    finding.get_by_text("Add a note").click()
    note = finding.get_by_label("Note for the record")
    note.evaluate("field => field.removeAttribute('maxlength')")
    note.fill("n" * 501)
    finding.get_by_role("button", name="Accept").click()
    expect(page.locator(".error-summary")).to_be_focused()
    expect(note).to_have_value("n" * 501)
    axe(page)
    assert not FindingDecision.objects.exists()


def test_the_slot_is_moved_with_one_tap_and_a_mail_is_edited_first(fitter, phone, booked, axe, screenshot):
    """On a phone: a free start is one tap; asking the rider leads to a letter that can be changed before it goes."""
    page = fitter
    page.goto(reverse("review:session", args=[booked.pk]))
    no_sideways_scroll(page)
    page.locator("#slot .starts.wide .start").first.click()
    expect(page.locator("#messages")).to_contain_text("The session is moved.")
    assert FitSession.objects.get(pk=booked.pk).state == "moved"
    page.get_by_role("button", name="Ask the rider").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Ask the rider")
    axe(page, both_widths=True)
    no_sideways_scroll(page)
    screenshot(page, "review-letter")
    page.get_by_label("Text").fill("Does the post move a little by now?")
    page.get_by_role("button", name="Send the mail").click()
    expect(page.locator("#messages")).to_contain_text("is on its way")
    mail = SlotDecision.objects.get(choice="ask_rider").mail
    assert mail.body == "Does the post move a little by now?"


def test_everything_works_without_scripts(chromium, live_server, fitter_user, booked, log_in):
    """A plain post and a redirect do what htmx shortens."""
    cookies = log_in(fitter_user).context.cookies()
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies(cookies)
    page = context.new_page()
    page.goto(reverse("review:session", args=[booked.pk]))
    page.locator("#studio-post_slides-stuck").click()
    expect(page.locator("#studio-post_slides-stuck")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Keep the slot").click()
    expect(page.locator("#slot")).to_contain_text("Keep")
    context.close()
    assert SlotDecision.objects.get().choice == "keep"


def test_red_flags_are_read_before_confirming(fitter, booked, axe):
    """The note comes first; then the button to confirm appears in place."""
    page = fitter
    answered(booked, red_flags_clinician="pain")
    page.goto(reverse("review:session", args=[booked.pk]))
    expect(page.locator("#confirm")).to_have_count(0)
    axe(page, both_widths=True)
    page.get_by_label("What was agreed with the rider").fill("Sees the doctor on Wednesday.")
    page.get_by_role("button", name="I have read this").click()
    expect(page.locator("#red-flags")).to_contain_text("Sees the doctor on Wednesday.")
    page.get_by_role("button", name="Confirm the session").click()
    expect(page.locator("#messages")).to_contain_text("The session is confirmed.")
    assert FitSession.objects.get(pk=booked.pk).state == "confirmed"
