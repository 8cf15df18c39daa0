"""The bench in a real browser: saving without a button, errors in place, nothing lost on the way out, no barriers."""

import pytest
from django.urls import reverse

from sessions.models import FitRecord, Reading
from tests import factories
from tests.app.bench_help import AFTER, BEFORE, begun, closed, keep, settle
from tests.browser.conftest import PHONE, no_sideways_scroll

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def record(log_in):
    """An open record, and a fitter at the bench."""
    fit_session = factories.FitSessionFactory()
    factories.RiderLinkFactory(pre_visit=fit_session.pre_visit)
    factories.DiscomfortFactory(pre_visit=fit_session.pre_visit, area="knee_front", side="right", score=6)
    log_in(factories.UserFactory(role="fitter"))
    return begun(fit_session)


def go(page, record, name, *args):
    """Open one of the bench's pages."""
    page.goto(reverse(f"bench:{name}", args=[record.fit_session_id, *args]))


def values(phase="before"):
    """The readings in force."""
    return dict(Reading.objects.filter(phase=phase, replaced_at=None).values_list("quantity", "value"))


def type_into(page, label, text):
    """Type as a person does: into the field, then on to the next with the tabulator."""
    page.get_by_label(label, exact=True).fill(text)
    page.keyboard.press("Tab")


def test_values_save_as_the_fitter_goes_from_field_to_field(phone, record, screenshot):
    """By keyboard alone; figures, drawing and what is missing follow in place, and focus stays where it went."""
    go(phone, record, "position", "before")
    type_into(phone, "Saddle height", "734")
    phone.locator("#saved-saddle_height").get_by_text("Saved").wait_for()
    phone.get_by_text("saddle setback to the datum would complete it").wait_for()
    type_into(phone, "Saddle setback to the nose", "60")
    type_into(phone, "Saddle tilt", "0")
    type_into(phone, "Bottom bracket height above the floor", "270")
    assert phone.evaluate("document.activeElement.closest('.reading').id") == "row-bb_height"
    phone.locator("#saved-bb_height").get_by_text("Saved").wait_for()
    assert values() == {"saddle_height": 734, "setback_nose": 60, "saddle_tilt": 0, "bb_height": 270}
    assert phone.locator("#figures-panel").get_by_role("rowheader", name="Saddle height").count() == 1
    no_sideways_scroll(phone)
    screenshot(phone, "bench-before-phone")


def test_an_error_stands_in_its_row_and_goes_when_it_is_right(page, record):
    """The text stays, the field is marked, and the next value clears it."""
    go(page, record, "position", "before")
    type_into(page, "Saddle height", "73.4")
    page.get_by_text("73.4 looks like centimetres: that would be 734 mm.").wait_for()
    field = page.get_by_label("Saddle height", exact=True)
    assert field.input_value() == "73.4"
    assert field.get_attribute("aria-invalid") == "true"
    type_into(page, "Saddle height", "734")
    page.locator("#saved-saddle_height").get_by_text("Saved").wait_for()
    page.locator("#id_saddle_height-value:not([aria-invalid])").wait_for()
    assert values() == {"saddle_height": 734}


def test_leaving_at_once_loses_nothing(page, record):
    """The last value is typed and the next step tapped in the same breath, with several still on their way."""
    go(page, record, "position", "before")
    for label, text in (("Crank length", "172.5"), ("Saddle height", "734"), ("Saddle-to-hood drop", "60")):
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_role("link", name="Changes").last.click()
    page.wait_for_url("**/changes/")
    assert values() == {"crank_length": 172.5, "saddle_height": 734, "drop": 60}


def test_leaving_with_something_wrong_shows_it_first(page, record):
    """The page stays until the refused value has been seen."""
    go(page, record, "position", "before")
    page.get_by_label("Saddle height", exact=True).fill("lots")
    page.get_by_role("link", name="Changes").last.click()
    page.get_by_text("“lots” is not a length").wait_for()
    assert page.url.endswith("/before/")


def test_what_was_not_touched_takes_one_tap(phone, record):
    """A tick for one reading, a button for the rest of its part."""
    keep(record, "before", BEFORE)
    go(phone, record, "position", "after")
    phone.get_by_label("Not touched: 270 mm").check()
    phone.locator("#saved-bb_height").get_by_text("Saved").wait_for()
    type_into(phone, "Saddle height", "740")
    phone.locator("#out-saddle_height").get_by_text("real", exact=True).wait_for()
    phone.locator("#part-saddle").get_by_role("button", name="Nothing else here was touched").click()
    phone.locator("#part-saddle").get_by_label("Not touched: 60 mm").and_(phone.locator(":checked")).wait_for()
    assert values("after") == {"bb_height": 270, "saddle_height": 740, "setback_nose": 60, "saddle_tilt": 0}


def test_two_tablets_work_on_one_record(page, record, log_in):
    """Each saves what it typed; neither undoes the other, and notes that collide are shown."""
    other = page.context.new_page()
    for tablet in (page, other):
        go(tablet, record, "position", "before")
    type_into(page, "Saddle height", "734")
    page.locator("#saved-saddle_height").get_by_text("Saved").wait_for()
    type_into(other, "Saddle-to-hood drop", "60")
    other.locator("#saved-drop").get_by_text("Saved").wait_for()
    assert values() == {"saddle_height": 734, "drop": 60}
    for tablet in (page, other):
        go(tablet, record, "closing")
    type_into(page, "Notes for the rider", "Ride easy.")
    page.locator("#saved-rider").get_by_text("Saved").wait_for()
    type_into(other, "Notes for the rider", "Saddle up.")
    other.get_by_text("There it says: “Ride easy.”").wait_for()
    assert other.get_by_label("Notes for the rider").input_value() == "Saddle up."


def test_parts_are_added_and_taken_out(page, record):
    """The form empties for the next one; taken out, a row is gone."""
    go(page, record, "changes")
    form = page.locator("#add-change")
    form.get_by_label("Part", exact=True).select_option("stem")
    form.get_by_label("Before").fill("100 mm")
    form.get_by_label("After").fill("90 mm")
    form.get_by_role("button", name="Add").click()
    page.locator(".kept-row").get_by_label("After").wait_for()
    assert page.locator("#add-change").get_by_label("After").input_value() == ""
    page.get_by_role("button", name="Take out").click()
    page.locator("#list-change").get_by_text("None yet.").wait_for()
    assert not record.component_changes.exists()


def try_to_close(page, record):
    """Tap the button while one line is open; the summary takes focus."""
    settle(record)
    record.safety_entries.filter(item="brakes").delete()
    go(page, record, "closing")
    page.get_by_role("button", name="Close the session").click()
    page.locator(".error-summary").wait_for()
    assert page.evaluate("document.activeElement.className") == "error-summary"


def test_a_refused_closing_has_no_barrier(phone, record, axe, screenshot):
    """Each open line says why, in red that can be read and in words."""
    try_to_close(phone, record)
    axe(phone, both_widths=True)
    phone.set_viewport_size(PHONE)
    no_sideways_scroll(phone)
    screenshot(phone, "bench-closing-refused-phone")


def test_a_session_closes_once_its_list_is_settled(phone, record):
    """The summary leads to what is open; with the last line settled the session closes."""
    try_to_close(phone, record)
    phone.locator(".error-summary").get_by_role("link").click()
    phone.get_by_role("group", name="Both brakes stop the bike").get_by_label("done", exact=True).check()
    phone.get_by_text("The safety list is settled.").wait_for()
    phone.get_by_role("button", name="Close the session").click()
    phone.get_by_text("The session is closed.").wait_for()
    assert FitRecord.objects.get().closed_at is not None


PAGES = [
    ("home",),
    ("body",),
    ("position", "before"),
    ("position", "after"),
    ("points", "before"),
    ("changes",),
    ("closing",),
]


@pytest.mark.parametrize("where", [*PAGES, ("insertion",), ("fit_sheet",)], ids="-".join)
@pytest.mark.parametrize("is_closed", [False, True], ids=["open", "closed"])
def test_no_page_has_a_barrier(where, is_closed, page, record, axe, screenshot):
    """axe-core at phone and desktop width, light and dark; nothing scrolls sideways."""
    keep(record, "before", BEFORE)
    keep(record, "after", AFTER)
    record.body_measures.create(measure="inseam", value_mm=842, as_typed="842")
    record.component_changes.create(component="stem", was="100 mm", now="90 mm", request_key="1")
    if is_closed:
        closed(record)
    go(page, record, *where)
    axe(page, both_widths=True)
    page.set_viewport_size(PHONE)
    no_sideways_scroll(page)
    screenshot(page, f"bench-{'-'.join(where)}-{'closed' if is_closed else 'open'}-phone")


def test_the_riders_sheet_has_no_barrier(page, record, axe):
    """The page that the mail leads to, and the one that waits."""
    link = record.fit_session.pre_visit.links.get()
    address = reverse("rider:fit_sheet", args=[link.token])
    page.goto(address)
    axe(page, both_widths=True)
    keep(record, "before", BEFORE)
    closed(record)
    page.goto(address)
    axe(page, both_widths=True)
    page.set_viewport_size(PHONE)
    no_sideways_scroll(page)
