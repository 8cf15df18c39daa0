"""The rider's check in a real browser: it saves itself, keeps what is typed, works by keyboard and shows no barrier."""

import pytest
from django.urls import reverse

from intake.models import CheckAnswer
from tests import factories
from tests.browser.conftest import no_sideways_scroll

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def link(live_server):
    """The private link of a booked session's rider."""
    return factories.RiderLinkFactory(pre_visit=factories.FitSessionFactory().pre_visit)


def address(link, page, *args):
    """The address of a page under the link."""
    return reverse(f"check:{page}", args=[link.token, *args])


def saved(page, key):
    """Wait for the line that says that an answer was saved."""
    return page.get_by_text("Saved at").and_(page.locator(f"#saved-{key}")).wait_for()


def test_an_answer_saves_itself_and_survives_closing_the_page(phone, link):
    """A tap is enough: after opening the page anew the answer is there, and the start page goes on after it."""
    phone.goto(address(link, "question", "gears"))
    phone.get_by_label("They shift and hold").check()
    saved(phone, "gears")
    assert CheckAnswer.objects.get().option == "fine"
    assert "1 of" in phone.locator("#check-progress").inner_text()
    phone.goto(address(link, "start"))
    phone.goto(address(link, "question", "gears"))
    assert phone.get_by_label("They shift and hold").is_checked()


def test_what_is_typed_while_another_field_saves_is_kept(phone, link):
    """The autosave replaces no input: the second length stays as it is being typed while the first one saves."""
    phone.goto(address(link, "question", "lever_match"))
    left = phone.get_by_label("Left lever tip above the floor")
    right = phone.get_by_label("Right lever tip above the floor")
    left.fill("940")
    left.press("Tab")
    right.press_sequentially("94")
    phone.get_by_text("still missing").wait_for()
    right.press_sequentially("6")
    assert right.input_value() == "946"
    right.press("Tab")
    phone.get_by_text("still missing").wait_for(state="detached")
    assert CheckAnswer.objects.get().lengths_mm == {"left_tip_mm": 940.0, "right_tip_mm": 946.0}


def test_a_refused_length_is_marked_beside_its_field_and_cleared_when_mended(phone, link):
    """The reason appears under the field without losing the text, and goes when the text is right."""
    phone.goto(address(link, "question", "spacers"))
    under = phone.get_by_role("textbox", name="Spacers under the stem")
    under.fill("4000")
    under.press("Tab")
    phone.get_by_text("lie between 0 and 100 mm").wait_for()
    assert under.input_value() == "4000"
    under.fill("12")
    under.press("Tab")
    phone.get_by_text("lie between 0 and 100 mm").wait_for(state="detached")
    assert CheckAnswer.objects.get().lengths_mm == {"under_mm": 12.0}


def test_answers_can_be_chosen_and_sent_from_the_keyboard(page, link):
    """Arrow keys choose, every step saves itself, and Enter goes on to the next question."""
    page.goto(address(link, "question", "crash"))
    first = page.get_by_label("No, and I see no damage")
    first.focus()
    first.press("Space")
    saved(page, "crash")
    page.keyboard.press("ArrowDown")
    page.get_by_text("Do not ride this bike", exact=True).wait_for()
    page.keyboard.press("ArrowUp")
    page.get_by_text("Do not ride this bike", exact=True).wait_for(state="detached")
    assert CheckAnswer.objects.get().option == "no"
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{address(link, 'question', 'brakes_wheels_tyres')}")


def test_the_figure_works_by_keyboard_and_shows_the_mark(page, link):
    """A callout is a link with the place and its score as its name."""
    page.goto(address(link, "discomfort"))
    callout = page.locator("svg").get_by_role("link", name="Knee, front, left")
    callout.focus()
    callout.press("Enter")
    page.get_by_role("heading", name="Knee, front, left").wait_for()
    page.get_by_role("radio", name="8", exact=True).check()
    page.get_by_text("See a doctor or physiotherapist first").wait_for()
    page.get_by_text("Saved at").wait_for()
    page.get_by_role("button", name="Save and back to the figure").click()
    page.locator("svg").get_by_role("link", name="Knee, front, left: 8 of 10").wait_for()


def test_the_check_works_without_javascript(chromium, live_server, link):
    """With scripts off a rider answers, marks, hands in and reads the advice."""
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    page = context.new_page()
    page.goto(address(link, "question", "post_slides"))
    page.get_by_label("It does not move at all").check()
    page.get_by_role("button", name="Save and go on").click()
    page.goto(address(link, "place", "neck"))
    page.get_by_role("radio", name="4", exact=True).check()
    page.get_by_role("button", name="Save and back to the figure").click()
    page.goto(address(link, "finish"))
    page.get_by_label("Is there anything else").fill("Only uphill.")
    page.get_by_role("button", name="Hand it in").click()
    assert page.get_by_role("heading", name="Seatpost stuck in the frame").is_visible()
    assert "Thank you" in page.locator("#messages").inner_text()
    context.close()


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("start", []),
        ("question", ["spacers"]),
        ("question", ["crash"]),
        ("discomfort", []),
        ("place", ["knee_front-left"]),
        ("finish", []),
        ("advice", []),
    ],
)
def test_no_barrier_on_any_page(page, axe, link, screenshot, name, args):
    """axe-core finds nothing, at phone and desktop width, light and dark, with answers of every kind on the page."""
    fill(link.pre_visit)
    page.goto(address(link, name, *args))
    screenshot(page, f"check-{name}")
    axe(page, both_widths=True)
    no_sideways_scroll(page)


@pytest.mark.parametrize("name", ["sheet", "start"])
def test_no_barrier_at_the_desk(log_in, axe, link, name):
    """The same for the desk's own pages."""
    fill(link.pre_visit)
    page = log_in(factories.UserFactory(role="desk"))
    page.goto(reverse(f"desk_check:{name}", args=[link.pre_visit_id]))
    axe(page, both_widths=True)
    no_sideways_scroll(page)


def fill(pre_visit):
    """Answers with a fault, a hazard, a red flag and “could not do it”, and marks of every strength."""
    options = {
        "crash": "crack",
        "post_slides": "stuck",
        "red_flags_clinician": "pain",
        "front_bolts": "could_not",
        "cleat_wear": "past_marker",
        "bring": "no_shoes",
    }
    for key, option in options.items():
        factories.CheckAnswerFactory(pre_visit=pre_visit, check_key=key, option=option)
    for score, side in ((0, "left"), (2, "right")):
        factories.DiscomfortFactory(pre_visit=pre_visit, area="wrist_hand", side=side, score=score)
    for score, side in ((5, "left"), (9, "right")):
        factories.DiscomfortFactory(pre_visit=pre_visit, area="knee_front", side=side, score=score, after_min=30)
