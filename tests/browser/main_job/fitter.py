"""The fitter at the desk: logs in, reads the triage, decides, writes to the rider, confirms."""

from playwright.sync_api import expect

from intake.triage.phrases import percent
from sessions.models.studios import ADJUSTMENT_LABELS
from tests.browser.conftest import tab_to
from tests.browser.main_job import story


def log_in(page):
    """By typing, with the keyboard alone."""
    tab_to(page, page.get_by_label("Username"))
    page.keyboard.type(story.USERNAME)
    page.keyboard.press("Tab")
    page.keyboard.type(story.PASSWORD)
    page.keyboard.press("Enter")


def button_of(page, title, label):
    """The button of a decision on a finding, or on a check that is not known."""
    card = page.get_by_role("article", name=title, exact=True)
    return card.get_by_role("group", name=f"Decide: {title}").get_by_role("button", name=label)


def decide(page, title, label):
    """One tap; the page changes in place and says what was decided."""
    button = button_of(page, title, label)
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#messages")).to_contain_text(title)


def decide_by_keyboard(page, title, label):
    """The same with Tab and Enter; the focus stays on the button."""
    button = button_of(page, title, label)
    tab_to(page, button)
    page.keyboard.press("Enter")
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(button).to_be_focused()


def expect_in_list(page, triage):
    """The review list names the rider with verdict and figures."""
    row = page.get_by_role("link", name=story.RIDER)
    expect(row).to_contain_text("Fix first")
    expect(row).to_contain_text(triage.reasons[0].text)
    expect(row).to_contain_text(f"readiness {percent(triage.forecast.readiness_pct / 100)}")
    expect(row).to_contain_text(f"runs to plan {percent(triage.forecast.chance)}")
    return row


def expect_triage(page, triage):
    """Reasons, figures, picture and locked map are those of the core."""
    verdict, lost = page.get_by_role("region", name="Verdict"), triage.forecast
    chance = percent(lost.chance)
    for words in (
        *(reason.text for reason in triage.reasons),
        f"{percent(lost.readiness_pct / 100)} readiness",
        f"{chance} chance to run to plan",
        f"{round(lost.expected_min)} min bench minutes expected; slack {lost.slack_min}",
    ):
        expect(verdict).to_contain_text(words)
    forecast = page.get_by_role("region", name="Bench minutes against the slack")
    said = f"fits into the slack of {lost.slack_min} minutes: {chance}."
    expect(forecast.get_by_role("img", name=said)).to_be_visible()
    half, most = lost.quantile_min(0.5), lost.quantile_min(0.9)
    expect(forecast).to_contain_text(f"lose at most {half} minutes, nine in ten at most {most}.")
    _expect_locked_map(page.get_by_role("region", name="What the bike can still adjust"), triage)


def _expect_locked_map(region, triage):
    held = {key: state for key, state in triage.adjustments.items() if state.because}
    expect(region.get_by_role("listitem").filter(has_text="because of")).to_have_count(len(held))
    for adjustment, state in held.items():
        row = region.get_by_role("listitem").filter(has_text=str(ADJUSTMENT_LABELS[adjustment]))
        expect(row).to_contain_text(state.freedom.name.lower())
        for key in state.because:
            expect(row.get_by_role("link", name=triage.finding(key).title)).to_be_visible()


def write_about_longer(page):
    """Choose how much longer, and edit what the mail says first."""
    page.get_by_role("link", name="Make it longer and write").click()
    page.get_by_role("radio", name=f"{story.EXTRA_MIN} minutes:").check()
    draft = page.get_by_label("What you say first")
    assert story.POST in draft.input_value()
    draft.fill(story.MESSAGE)


def expect_in_outbox(page, words):
    """The desk's own page shows what the rider gets; the newest mail lies open."""
    page.get_by_role("link", name="Sent mail").click()
    expect(page.get_by_role("group").first).to_contain_text(story.EMAIL)
    expect(page.get_by_text(words)).to_be_visible()
