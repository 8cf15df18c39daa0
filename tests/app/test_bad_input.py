"""Whatever is typed, pasted, forged or sent twice: an answer in place, never an error of ours, nothing lost and nothing doubled."""

import html
from itertools import product

import pytest
from django.apps import apps
from django.urls import resolve

from tests.forms import TYPED, forms_of
from tests.routes import PAGES, values_for

pytestmark = pytest.mark.django_db

NASTY = {
    "empty": "",
    "spaces": "   ",
    "huge": "9" * 400,
    "long": "långt " * 5000,
    "negative": "-1",
    "not a number": "NaN",
    "infinite": "1e999",
    "script": "<script>alert(1)</script>",
    "emoji": "🚲🦵🏽",
    "right to left": "\u200f\u05d0\u05d1\u05d2",
    "null byte": "a\x00b",
    "newlines": "a\r\nBcc: someone@tarnfell.example",
    "wrong date": "2026-02-30",
    "quotes": "'\";--",
}
# What htmx sends takes the same way through the form; these are what its answers have been seen to differ by.
IN_PLACE = ("empty", "huge", "script", "null byte")
WAYS = [*((kind, {}) for kind in NASTY), *((kind, {"HX-Request": "true"}) for kind in IN_PLACE)]
QUERIED = ("page", "start", "q", "week", "day", "verdict", "next")
FORGED = ["", "nothing of the kind", "-1", "99999999999999999999", "\x00", "🚲"]


def named(pages):
    """Parametrise by page, with readable ids."""
    return pytest.mark.parametrize("page", pages, ids=lambda page: page.name)


@pytest.fixture
def values(fit_session, rider_link):
    """A value for every parameter that an address can have."""
    return values_for(fit_session, rider_link)


@pytest.fixture
def browser(client, owner_user):
    """A browser that may open everything: an owner's."""
    client.force_login(owner_user)
    return client


def posts_of(browser, page, values):
    """The forms of one page, one of each kind; none where it is not a page to read."""
    path = page.path(values)
    response = browser.get(path)
    if response.status_code != 200 or not response["Content-Type"].startswith("text/html"):
        return []
    kinds = {(resolve(form.action).view_name, *sorted(form.fields)): form for form in forms_of(response, path)}
    return [form for kind, form in kinds.items() if kind[0] != "logout"]


def everything_kept():
    """How many rows every table of ours holds."""
    ours = [*apps.get_app_config("intake").get_models(), *apps.get_app_config("fit_sessions").get_models()]
    return {model.__name__: model.objects.count() for model in ours}


@named(PAGES)
def test_no_form_breaks_on_what_is_typed(page, values, browser):
    """Every form of every page, each typed field holding something nasty, plain and through htmx."""
    for form in posts_of(browser, page, values):
        for kind, headers in WAYS:
            response = browser.post(form.action, form.filled(NASTY[kind]), headers=headers)
            assert response.status_code < 500, (form.action, kind)
            assert "<script>alert(1)" not in response.content.decode(errors="replace")


@named(PAGES)
def test_no_form_breaks_on_a_forged_choice(page, values, browser):
    """Radio buttons, lists and hidden fields can be made to say anything."""
    for form, forged in product(posts_of(browser, page, values), FORGED):
        sent = {name: forged for name, each in form.fields.items() if name != "csrfmiddlewaretoken"}
        response = browser.post(form.action, sent)
        assert response.status_code < 500, (form.action, forged)


@named(PAGES)
def test_what_is_refused_is_still_in_the_form(page, values, browser):
    """A refused form shows what was typed, escaped."""
    typed = "¿what <b>is</b> this?"
    for form in posts_of(browser, page, values):
        if not any(each.kind in TYPED for each in form.fields.values()):
            continue
        response = browser.post(form.action, form.filled(typed))
        if response.status_code == 422:
            assert typed in html.unescape(response.content.decode()), form.action


@named(PAGES)
def test_a_form_sent_twice_stores_once(page, values, browser):
    """A double tap, or a page sent again after going back, adds nothing."""
    for form in posts_of(browser, page, values):
        sent = form.filled("42")
        browser.post(form.action, sent)
        once = everything_kept()
        browser.post(form.action, sent)
        assert everything_kept() == once, form.action


@named(PAGES)
def test_no_page_breaks_on_its_query(page, values, browser):
    """Whatever stands behind the question mark is answered, whichever of its parts a page reads."""
    for value in ("", "-1", "1e9", "%00", "9999-99-99", "%F0%9F"):
        query = "&".join(f"{name}={value}" for name in QUERIED)
        assert browser.get(f"{page.path(values)}?{query}").status_code < 500, value
