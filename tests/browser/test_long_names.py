"""Names that are one long word, in every place where a name can stand: no page grows wider than its window."""

import pytest
from django.db.models import F, Value
from django.db.models.functions import Concat

from intake.models import Bike, Client
from sessions.models import Bay, FitSession, Fitter, Service, Studio
from tests.browser.conftest import DESKTOP, PHONE, no_sideways_scroll
from tests.browser.test_every_page import READABLE, hit
from tests.routes import values_for

LONG = "Wolfeschlegelsteinhausenbergerdorff" * 3


@pytest.fixture
def everybody_is_long(fit_session, rider_link):
    """Every name, address and remark of the session, as long as one word can be."""
    values = values_for(fit_session, rider_link)
    for model in (Client, Bike, Fitter, Service, Studio):
        model.objects.update(name=LONG)
    Bay.objects.update(name=Concat(Value(LONG[:50]), F("pk")))
    Client.objects.update(latin_name=LONG, notes=LONG, email=f"{LONG[:60]}@{LONG[:50]}.example")
    FitSession.objects.update(wish=LONG * 4)
    Studio.objects.update(address=LONG, welcome=LONG, email=f"{LONG[:60]}@{LONG[:50]}.example")
    return values


def test_no_name_widens_a_page(page, log_in, page_errors, everybody_is_long, fitter_user):
    """As a rider and as staff, on a phone and on a desktop."""
    log_in(fitter_user)
    for place in READABLE:
        path = place.path(everybody_is_long)
        for size in (PHONE, DESKTOP):
            page.set_viewport_size(size)
            if hit(page, path):
                no_sideways_scroll(page)
    page_errors.clear()  # the addresses that only take posts
