"""The rider with a phone: books, follows the mail, looks over the bike, reads what to do."""

import re

from playwright.sync_api import expect

from tests.browser.conftest import tab_to
from tests.browser.main_job import story
from tests.browser.main_job.triage import sound_answer

WHAT_HURTS, LAST_PAGE = "What hurts, and where", "Hand it in"


def heading(page):
    """The page's one main heading."""
    return page.get_by_role("heading", level=1)


def arrive(page, title):
    """Wait for the page of this heading, with the scripts that save by themselves."""
    expect(heading(page)).to_have_text(title)
    page.wait_for_load_state()


def choose_time(page):
    """From the public page, leafing week by week, to ten o'clock on the last day of March."""
    page.goto("/")
    page.get_by_role("link", name=re.compile("for Full fit$")).click()
    day = page.get_by_role("region", name="Tuesday 31 March")
    for _week in range(8):
        shown = page.locator("#week").inner_text()
        if day.count():
            break
        page.get_by_role("link", name="Later").click()
        expect(page.locator("#week")).not_to_have_text(shown)
    day.get_by_role("link", name="10:00", exact=True).click()
    expect(page.get_by_role("main")).to_contain_text("Tuesday 31 March 2026")


def give_details(page):
    """Say who comes, with which bike, and book."""
    page.get_by_label("Your name", exact=True).fill(story.RIDER)
    page.get_by_label("E-mail").fill(story.EMAIL)
    page.get_by_label("Telephone").fill("0121 234 5678")
    page.get_by_role("radio", name="Road").check()
    page.get_by_label("Make and model").fill(story.BIKE)
    page.get_by_label("What do you hope for").fill(story.WISH)
    page.get_by_role("button", name="Book this session").click()
    arrive(page, "Your session")


def go_on_with_check(page):
    """From the private page to the first open question."""
    page.get_by_role("link", name=re.compile("^(Start|Go on with) the check$")).click()
    page.get_by_role("link", name=re.compile("^(Start|Go on where you stopped)$")).click()
    page.wait_for_url("**/question/**")


def answer_until(page, last=LAST_PAGE):
    """Answer step after step, each saving itself; return how many."""
    steps = 0
    while (title := heading(page).inner_text()) != LAST_PAGE:
        if title == WHAT_HURTS:
            mark_what_hurts(page)
            page.get_by_role("link", name="Go on").click()
        else:
            _answer(page, title)
        expect(heading(page)).not_to_have_text(title)
        page.wait_for_load_state()
        steps += 1
        if title == last:
            break
    return steps


def _answer(page, title):
    """Answer one question and go on."""
    if title == story.BY_KEYBOARD:
        _answer_by_keyboard(page, title)
        return
    if title == story.SPACERS_TITLE:
        for label, typed in story.SPACERS.items():
            page.get_by_role("textbox", name=label).fill(typed)
        page.keyboard.press("Tab")
    else:
        page.get_by_role("radio", name=story.ANSWERS.get(title) or sound_answer(title), exact=True).check()
    _expect_saved(page)
    page.get_by_role("button", name=re.compile("^Save and (go on|finish)$")).click()


def _answer_by_keyboard(page, title):
    """Tab to the answers, Space to choose, Enter to go on."""
    tab_to(page, page.get_by_role("radio", name=sound_answer(title), exact=True))
    page.keyboard.press("Space")
    _expect_saved(page)
    page.keyboard.press("Enter")


def _expect_saved(page):
    expect(page.get_by_role("status").filter(has_text="Saved at")).to_be_visible()


def mark_what_hurts(page):
    """A tap on the figure, a number, and after how long."""
    page.get_by_role("link", name=story.SORE).first.click()
    arrive(page, story.SORE)
    page.get_by_role("radio", name=str(story.SORE_SCORE), exact=True).check()
    page.get_by_label(re.compile("^After how")).fill(str(story.SORE_AFTER_MIN))
    page.get_by_role("button", name="Save and back to the figure").click()
    arrive(page, WHAT_HURTS)
