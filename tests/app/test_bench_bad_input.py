"""Every form of the bench with everything nasty: an answer in place, nothing of ours breaks, nothing is stored twice."""

import html
from collections import Counter
from itertools import product

import pytest
from django.apps import apps

from tests import factories
from tests.app.bench_help import AFTER, BEFORE, address, begun, closed, keep
from tests.app.test_bad_input import FORGED, NASTY
from tests.forms import TYPED, forms_of

pytestmark = pytest.mark.django_db

PAGES = [
    ("body",),
    ("position", "before"),
    ("position", "after"),
    ("points", "after"),
    ("changes",),
    ("closing",),
]
NOT_OURS = ("/logout/",)
ENDS = ("/close/", "/take-back/", "/begin/")
OVER = "This record is closed"


@pytest.fixture
def record(fit_session, rider_link):
    """An open record with something of everything in it."""
    open_record = begun(fit_session)
    keep(open_record, "before", BEFORE)
    keep(open_record, "after", AFTER)
    factories.DiscomfortFactory(pre_visit=fit_session.pre_visit, area="neck")
    open_record.component_changes.create(component="stem", now="90 mm", request_key="1")
    open_record.parts_to_order.create(part="Stem 80 mm", request_key="1")
    return open_record


def posts_of(browser, record, page):
    """The forms of one page that store something; of those that go to one address the first two, lengths and angles."""
    path, alike = address(page[0], record, *page[1:]), Counter()
    chosen = []
    for form in forms_of(browser.get(path), path):
        alike[form.action] += 1
        if alike[form.action] <= 2 and not any(word in form.action for word in (*NOT_OURS, *ENDS)):
            chosen.append(form)
    return chosen


def filled(form, typed, chosen=None):
    """What is sent, without the buttons that take something out."""
    sent = form.filled(typed, chosen)
    return {name: value for name, value in sent.items() if name not in {"remove", "rest"}}


def everything_kept():
    """How many rows every table of ours holds."""
    ours = [*apps.get_app_config("intake").get_models(), *apps.get_app_config("fit_sessions").get_models()]
    return {model.__name__: model.objects.count() for model in ours}


@pytest.mark.parametrize("page", PAGES, ids="-".join)
def test_no_form_breaks_on_what_is_typed(page, fitter_client, record):
    """Plain and through htmx, each typed field holding something nasty."""
    assert posts_of(fitter_client, record, page)
    for form in posts_of(fitter_client, record, page):
        for (kind, typed), headers in product(NASTY.items(), ({}, {"HX-Request": "true"})):
            response = fitter_client.post(form.action, filled(form, typed), headers=headers)
            assert response.status_code < 500, (form.action, kind)
            assert "<script>alert(1)" not in response.content.decode(errors="replace")


@pytest.mark.parametrize("page", PAGES, ids="-".join)
def test_no_form_breaks_on_a_forged_choice(page, fitter_client, record):
    """Radio buttons, lists and hidden fields can be made to say anything."""
    for form, forged in product(posts_of(fitter_client, record, page), FORGED):
        sent = {name: forged for name in form.fields if name not in {"csrfmiddlewaretoken", "remove"}}
        assert fitter_client.post(form.action, sent).status_code < 500, (form.action, forged)


@pytest.mark.parametrize("page", PAGES, ids="-".join)
def test_what_is_refused_is_still_in_the_form(page, fitter_client, record):
    """A refused page shows what was typed, escaped."""
    typed, seen = "¿what <b>is</b> this?", 0
    for form in posts_of(fitter_client, record, page):
        if not any(each.kind in TYPED for each in form.fields.values()):
            continue
        response = fitter_client.post(form.action, filled(form, typed))
        if response.status_code == 422:
            seen += 1
            assert typed in html.unescape(response.content.decode()), form.action
    assert seen or page[0] == "changes"


@pytest.mark.parametrize("page", PAGES, ids="-".join)
def test_a_form_sent_twice_stores_once(page, fitter_client, record):
    """A double tap, or a page sent again after going back, adds nothing."""
    for form in posts_of(fitter_client, record, page):
        sent = filled(form, "42")
        fitter_client.post(form.action, sent)
        once = everything_kept()
        fitter_client.post(form.action, sent)
        assert everything_kept() == once, form.action


@pytest.mark.parametrize("page", PAGES, ids="-".join)
def test_a_page_that_was_open_when_the_record_closed_changes_nothing(page, fitter_client, record):
    """Its forms are answered, and everything stays as it was closed."""
    forms = posts_of(fitter_client, record, page)
    closed(record)
    before = everything_kept()
    for form in forms:
        response = fitter_client.post(form.action, filled(form, "42"))
        assert response.status_code in {302, 409, 422}, form.action
        if response.status_code == 409:
            assert OVER in response.content.decode()
    assert everything_kept() == before
