"""The main job, once through all of it in a real browser: book, check, triage, decide, measure, print.

The rider has a phone, the fitter a desktop. Every figure that a page or the print shows is held against the computing cores,
which are given exactly what was typed, and every reading against itself.
"""

import pytest
import time_machine
from playwright.sync_api import expect

from sessions.models import FitSession
from tests import factories
from tests.browser.conftest import DESKTOP, PHONE, no_sideways_scroll
from tests.browser.main_job import bench, fitter, letters, readings, rider, sheet, story
from tests.browser.main_job.triage import judged

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def station(axe, screenshot):
    """Return a function that looks at a main station: no barrier, no sideways scroll, a picture."""

    def station(page, name):
        screenshot(page, f"main-job-{name}")
        axe(page)
        no_sideways_scroll(page)

    return station


def test_the_main_job(new_page, station):
    """The numbers on the PDF are the numbers that were measured."""
    factories.studio_with_hours()
    factories.UserFactory(username=story.USERNAME)
    phone, desk = new_page(PHONE), new_page(DESKTOP)
    with time_machine.travel(story.BOOKED_AT):
        invitation, private = book(phone, station)
        phone = look_over_the_bike(phone, private, station)
        read_what_to_do(phone, station)
        decide(desk, station)
        write_and_confirm(desk, invitation, station)
    with time_machine.travel(story.STARTS_AT):
        measure(desk, station)
        close(desk, station)
        printed = read_sheet_at_the_bench(desk)
        read_sheet_by_the_private_link(phone, printed, station)


def book(phone, station):
    """From the public page to the mail with its calendar file; return event and private address."""
    rider.choose_time(phone)
    station(phone, "details")
    rider.give_details(phone)
    [letter] = letters.delivered()
    event = letters.event_in(letter)
    assert (event.start, event.end) == (story.STARTS_AT, story.ENDS_AT)
    assert "10:00–12:00 (Europe/London, BST)" in letter.body
    assert story.RIDER in letter.body
    return event, letters.address_in(letter)


def look_over_the_bike(phone, private, station):
    """Follow the mail's link, answer, close the page, come back, go on, hand it in; return the page."""
    phone.goto(private)
    rider.go_on_with_check(phone)
    answered = rider.answer_until(phone, story.STOPPED_AFTER)
    coming = rider.heading(phone).inner_text()
    context = phone.context
    phone.close()
    phone = context.new_page()
    phone.goto(private)
    expect(phone.get_by_role("main")).to_contain_text(f"{answered} of")
    station(phone, "half-way")
    rider.go_on_with_check(phone)
    rider.arrive(phone, coming)
    rider.answer_until(phone)
    phone.get_by_role("button", name="Hand it in").click()
    return phone


def read_what_to_do(phone, station):
    """The advice names what to put right and by which day, on the page and in the mail."""
    rider.arrive(phone, "What to do before the session")
    [letter] = letters.delivered()
    for title, day in story.START_BY.items():
        task = phone.get_by_role("listitem").filter(has=phone.get_by_role("heading", name=title))
        expect(task).to_contain_text(f"Start by {day}")
        assert f"{title}\n   Start by {day}." in letter.body
    for words in (story.WORKSHOP_BY, story.SORE, story.BOLTS):
        expect(phone.get_by_role("main")).to_contain_text(words)
        assert words in letter.body
    station(phone, "advice")


def decide(desk, station):
    """Log in, find the session in the list, read the triage, and rule on each finding with one tap."""
    desk.goto("/desk/review/")
    fitter.log_in(desk)
    before = judged()
    fitter.expect_in_list(desk, before).click()
    rider.arrive(desk, story.RIDER)
    fitter.expect_triage(desk, before)
    expect(desk.get_by_role("region", name="What hurts")).to_contain_text(
        f"{story.SORE} {story.SORE_SCORE} of 10 after {story.SORE_AFTER_MIN} minutes"
    )
    expect(desk.get_by_role("region", name="Rider and bike")).to_contain_text("25.4")
    desk.evaluate("window.stillHere = true")
    fitter.decide(desk, story.CLEATS, "Bring the part")
    fitter.decide_by_keyboard(desk, story.POST, "Fix first")
    fitter.decide(desk, story.BOLTS, "Go ahead without")
    fitter.expect_triage(desk, judged(story.RULINGS))
    assert desk.evaluate("window.stillHere") is True
    station(desk, "triage")


def write_and_confirm(desk, invitation, station):
    """Make the session longer with a message of one's own, see it in the outbox, and confirm."""
    fitter.write_about_longer(desk)
    station(desk, "letter")
    desk.get_by_role("button", name="Make it longer and send the mail").click()
    fitter.expect_triage(desk, judged(story.RULINGS, story.EXTRA_MIN))
    desk.get_by_role("button", name="Confirm the session").click()
    expect(desk.locator("#messages")).to_contain_text("The session is confirmed.")
    review = desk.url
    fitter.expect_in_outbox(desk, story.MESSAGE)
    desk.goto(review)
    [letter] = letters.delivered()
    event = letters.event_in(letter)
    assert story.MESSAGE in letter.body
    assert (event["UID"], event.start) == (invitation["UID"], story.STARTS_AT)
    assert event["SEQUENCE"] > invitation["SEQUENCE"]
    assert (event.end - invitation.end).total_seconds() == 60 * story.EXTRA_MIN


def measure(desk, station):
    """The body, the position before, what was changed, the position after."""
    desk.get_by_role("link", name="Bench").click()
    fitter.log_in(desk)  # weeks have passed
    desk.get_by_role("button", name="Begin the session").click()
    rider.arrive(desk, "Body")
    bench.type_all(desk, readings.BODY)
    heights = sheet.rows(desk, "Rules side by side, lengths in millimetres")
    [lemond] = [cells for label, cells in heights.items() if label.startswith("0.883 of the inseam")]
    assert lemond[0] == "745.7"  # 0.883 × 33.25 × 25.4, by pocket calculator
    bench.go_to(desk, "Position before")
    bench.measure(desk, readings.BEFORE)
    dimensions = sheet.rows(desk, "Dimensions, lengths in millimetres")
    shown = {key: dimensions[readings.label(key)][1] for key in readings.BEFORE}
    assert shown == {key: readings.typed_figures(key)[0] for key in readings.BEFORE}
    bench.go_to(desk, "Changes")
    bench.note_changes(desk)
    bench.go_to(desk, "Position after")
    bench.measure(desk, readings.AFTER)
    bench.leave_untouched(desk)
    expect(bench.row_of(desk, "Saddle height")).to_contain_text("+5.7 ± 3.5 mm real")
    expect(bench.row_of(desk, "Saddle-to-hood drop")).to_contain_text("−0.7 ± 3.5 mm within error")
    sheet.check_rows(desk)
    station(desk, "position-after")


def close(desk, station):
    """The closing list, how it feels, and the end; the session is done."""
    bench.go_to(desk, "Closing")
    bench.say_how_it_was(desk)
    bench.settle_safety(desk)
    station(desk, "closing")
    desk.get_by_role("button", name="Close the session").click()
    expect(desk.locator("#messages")).to_contain_text("The session is closed.")
    assert FitSession.objects.get().state == "done"


def read_sheet_at_the_bench(desk):
    """The page's figures are the core's and the typed ones, and so are the print's; return rows and print."""
    desk.get_by_role("link", name="Fit sheet").click()
    position, sides = sheet.check_rows(desk)
    # By hand: two cleat readings by tape, each ± 1.5 mm, so 1.96 × √2 × 1.5 = 4.16.
    assert position["Cleat fore-aft, left"][1:] == ["−6.0", "−12.0", "−6.0", "4.2", "real"]
    assert position["Cleat fore-aft, right"][1:] == ["−9.0", "−11.0", "−2.0", "4.2", "within error"]
    sheet.check_words(desk)
    data = sheet.download(desk)
    sheet.check_pdf(data, position, sides)
    assert sheet.download(desk) == data
    return position, sides, data


def read_sheet_by_the_private_link(phone, printed, station):
    """The mail says that the sheet is ready; the rider sees the same and prints the same bytes."""
    [letter] = letters.delivered()
    assert letter.subject == "Your fit sheet from Wrenfield Cycle Fitting"
    phone.goto(letters.address_in(letter, "/fit-sheet/"))
    position, sides, data = printed
    assert sheet.check_rows(phone) == (position, sides)
    sheet.check_words(phone)
    assert sheet.download(phone) == data
    station(phone, "sheet")
