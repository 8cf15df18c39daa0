"""The fitter at the bench: measures, changes, measures again, closes."""

import re

from playwright.sync_api import expect

from sessions.safety import LINES
from tests.browser.main_job import readings, story
from tests.browser.main_job.rider import arrive

TORQUE = "5–6 N·m"


def go_to(page, step):
    """Go to a step of the session."""
    page.get_by_role("navigation", name="Steps of the session").get_by_role("link", name=step, exact=True).click()
    arrive(page, step)


def type_all(page, typed):
    """Type values by label, each saving as its field is left; wait until all are saved."""
    for label, text in typed.items():
        page.get_by_label(label, exact=True).fill(text)
    page.keyboard.press("Tab")
    for label in typed:
        expect(row_of(page, label).get_by_role("status")).to_contain_text("Saved")


def row_of(page, label):
    """The row of a reading."""
    return page.locator(".reading").filter(has=page.get_by_label(label, exact=True))


def measure(page, phase):
    """Type what was read; the figures follow in place."""
    page.get_by_text("More readings").click()
    type_all(page, {readings.label(key): text for key, (text, _value) in phase.items()})


def leave_untouched(page):
    """Say what was not moved: one reading by its tick, the rest of a part with one tap."""
    row = row_of(page, "Crank length")
    row.get_by_role("checkbox", name="Not touched: 172.5").check()
    expect(row.get_by_role("status")).to_contain_text("Saved")
    for part in ("frame", "cleats"):
        rest = page.locator(f"#part-{part}").get_by_role("button", name="Nothing else here was touched")
        rest.click()
        expect(rest).to_have_count(0)


def note_changes(page):
    """Cleats that were exchanged, and a stem to order."""
    changes = page.get_by_role("region", name="Component changes")
    changes.get_by_label("Part", exact=True).select_option(label="cleats")
    changes.get_by_label("Before").fill("worn past their marker")
    changes.get_by_label("After").fill("new, same float")
    changes.get_by_role("button", name="Add").click()
    expect(changes.get_by_role("button", name="Take out")).to_be_visible()
    parts = page.get_by_role("region", name="Parts to order")
    parts.get_by_label("Part to order").fill("Stem 90 mm, 6° up")
    parts.get_by_label("What for").fill("to raise the hoods further")
    parts.get_by_role("button", name="Add").click()
    expect(parts.get_by_role("button", name="Take out")).to_be_visible()


def say_how_it_was(page):
    """How it feels now, what the rider is told, when to come again, what ate time."""
    page.get_by_role("group", name=story.SORE).get_by_role("radio", name=str(story.SORE_NOW), exact=True).check()
    page.get_by_label("Notes for the rider").fill("Two easy rides before a long one.")
    page.get_by_label("Next visit").fill("12 May 2026")
    page.get_by_label("What to look at then").fill("whether the knee stays quiet")
    lost = page.get_by_role("group", name=story.CLEATS, exact=True).first
    lost.get_by_role("radio", name=re.compile(r"^20\b")).check()


def settle_safety(page):
    """Every line done, each bolt with the figure printed on its part."""
    for line in (line for line in LINES if not line.aero_only):
        row = page.get_by_role("group", name=str(line.label), exact=True).first
        row.get_by_role("radio", name="done", exact=True).check()
        if line.has_torque:
            row.get_by_label("Torque as printed on the part").fill(TORQUE)
    page.keyboard.press("Tab")
    expect(page.get_by_text("The safety list is settled.", exact=True)).to_be_visible()
