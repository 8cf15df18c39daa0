"""Every page that can be read: no barrier that axe-core knows, no sideways scroll, no console error, at both widths and in both schemes."""

import pytest

from tests.browser.conftest import DESKTOP, PHONE, no_sideways_scroll
from tests.routes import OWNER_PAGES, PUBLIC_PAGES, RIDER_PAGES, STAFF_PAGES, WORKSHOP_PAGES, values_for

NO_PAGE = ("pdf", "photo", "paper_form", "invitation", "attachment", "export")  # files, tested for themselves
READABLE = [
    page
    for page in (*PUBLIC_PAGES, *RIDER_PAGES, *STAFF_PAGES, *OWNER_PAGES, *WORKSHOP_PAGES)
    if not page.name.endswith(NO_PAGE)
]


def hit(page, path):
    """Open an address; None where it only takes posts."""
    answer = page.goto(path)
    return None if answer.status == 405 else answer


@pytest.mark.parametrize("place", READABLE, ids=lambda place: place.name)
def test_a_page_has_no_barrier(place, page, page_errors, axe, screenshot, log_in, fit_session, rider_link, owner_user):
    """The page opens as its reader opens it, and nothing stands in anybody's way."""
    path = place.path(values_for(fit_session, rider_link))
    if place.access in {"staff", "owner"}:
        log_in(owner_user)
    answer = hit(page, path)
    if answer is None:
        page_errors.clear()
        return
    assert answer.status < 400, (path, answer.status)
    axe(page, both_widths=True)
    for name, size in (("phone", PHONE), ("desk", DESKTOP)):
        page.set_viewport_size(size)
        no_sideways_scroll(page)
        screenshot(page, f"{place.name.replace(':', '-')}-{name}")
