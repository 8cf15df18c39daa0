"""The owner's pages about what is asked and from where verdicts change."""

import html

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from intake.catalogue.loader import load_catalogue
from intake.models import CatalogueEdition, TriageSummary
from intake.selectors.catalogue import current_catalogue
from intake.selectors.editions import draft_edition
from intake.services.editions import change_draft
from intake.services.triage import refresh_summary
from sessions.selectors.review.what_if import what_if
from sessions.selectors.slots import thresholds
from tests import factories
from tests.app.test_catalogue_editions import published, reword
from tests.forms import forms_of

pytestmark = pytest.mark.django_db

NEW = {
    "group": "whole",
    "title": "Rack",
    "question": "Is a rack fitted?",
    "why": "It is in the way of the measuring.",
    "steps": "Look behind the saddle.\nCount the bolts.",
    "tools": "",
    "home_min": "1,5",
    "answer_1": "No",
    "answer_2": "Yes",
    "chance_2": "100",
    "fault_title": "Rack fitted",
    "rider_text": "It has to come off.",
    "rate": "12.5",
    "median": "5",
    "p90": "10",
    "hazard": "none",
    "effect_saddle_setback": "limited",
    "own_title": "Take it off",
    "own_detail": "Two bolts.",
    "own_who": "rider",
    "own_lead": "1",
    "own_cost": "free",
}


@pytest.fixture
def owner_client(client, owner_user, studio):
    """A browser in which the owner is logged in, at a studio."""
    client.force_login(owner_user)
    return client


def text_of(response):
    """The page as text, entities read."""
    return html.unescape(response.content.decode())


def sent(client, path, **typed):
    """Send the first form of a page back as it stands, with some fields typed over."""
    response = client.get(path)
    values = {}
    for tag in response.context["form"]:
        if tag.value():
            values[tag.html_name] = tag.value()
    return client.post(path, values | typed)


def test_a_check_is_reworded_seen_and_published(owner_client):
    """From the list to the riders: keep, look at the draft, publish with a note."""
    path = reverse("catalogue:check", args=["gears"])
    fault = load_catalogue().check("gears").faults[0].key
    sent(owner_client, path, **{"title": "Gears and chain", f"fault_{fault}_rate": "33"})
    assert draft_edition().overlay == {
        "checks": {"gears": {"title": "Gears and chain", "faults": {fault: {"rate": 0.33}}}}
    }
    page = owner_client.get(reverse("catalogue:draft"))
    assert "Gears and chain" in text_of(page)
    assert "33 %" in text_of(page)
    sent(owner_client, reverse("catalogue:draft"), note="Clearer.")
    assert current_catalogue().check("gears").title == "Gears and chain"
    assert "Clearer." in text_of(owner_client.get(reverse("catalogue:editions")))


def test_a_form_sent_as_it_stands_changes_nothing(owner_client):
    """Every shipped check: what the form shows is what is shipped."""
    for check in load_catalogue().checks:
        response = sent(owner_client, reverse("catalogue:check", args=[check.key]))
        assert response.status_code == 302, (check.key, response.context["form"].errors)
    assert draft_edition().overlay == {}


def test_an_emptied_field_goes_back_to_what_is_shipped(owner_client):
    """Nobody can empty a caution by emptying its field."""
    path = reverse("catalogue:check", args=["crash"])
    sent(owner_client, path, title="Falls")
    sent(owner_client, path, title="", caution="", why="")
    assert draft_edition().overlay == {}


def test_looking_keeps_nothing(owner_client):
    """The rider's own partial shows what is typed."""
    response = sent(owner_client, reverse("catalogue:check", args=["gears"]), question="Do they jump?", do="look")
    assert response.status_code == 200
    assert text_of(response).count("Do they jump?") >= 2
    assert draft_edition() is None


@pytest.mark.parametrize(
    ("field", "typed"),
    [("home_min", "NaN"), ("home_min", "-1"), ("home_min", "1e999"), ("title", "x" * 200), ("steps", "a\n" * 40)],
)
def test_what_cannot_be_is_said_beside_its_field_and_kept(owner_client, field, typed):
    """Refused with 422, the typed text still there, nothing stored."""
    response = sent(owner_client, reverse("catalogue:check", args=["gears"]), **{field: typed})
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert typed.strip().split("\n")[0] in text_of(response)
    assert draft_edition() is None


def test_the_catalogues_own_refusal_stands_beside_the_field(owner_client):
    """Rates that add to more than 1, and percentiles the wrong way round."""
    fault = load_catalogue().check("gears").faults[0].key
    typed = {f"fault_{fault}_median": "50", f"fault_{fault}_p90": "5"}
    response = sent(owner_client, reverse("catalogue:check", args=["gears"]), **typed)
    assert response.status_code == 422
    assert f"gears.{fault}.minutes" in str(response.context["form"].errors[f"fault_{fault}_p90"])


def test_two_browsers_on_one_check_lose_nothing(owner_client):
    """The second is told, sees what was typed, and keeps it by saving again."""
    path = reverse("catalogue:check", args=["gears"])
    stale = owner_client.get(path).context["form"]["seen"].value()
    sent(owner_client, path, title="First")
    response = sent(owner_client, path, title="Second", seen=stale)
    assert response.status_code == 422
    assert "Second" in text_of(response)
    assert draft_edition().overlay["checks"]["gears"]["title"] == "First"
    assert sent(owner_client, path, title="Second").status_code == 302


def test_publishing_from_two_browsers_tells_the_second(owner_client):
    """The page that is out of date publishes nothing, and says why."""
    path = reverse("catalogue:draft")
    sent(owner_client, reverse("catalogue:check", args=["gears"]), title="First")
    seen = owner_client.get(path).context["form"].initial
    assert owner_client.post(path, seen | {"note": "a"}).status_code == 302
    response = owner_client.post(path, seen | {"note": "my words"})
    assert response.status_code == 422
    assert CatalogueEdition.objects.count() == 1


def test_what_can_hurt_has_no_switch_and_refuses_a_forged_one(owner_client):
    """The page says why; a forged post changes nothing."""
    path = reverse("catalogue:check", args=["crash"])
    assert "It can be reworded, not switched off." in text_of(owner_client.get(path))
    response = owner_client.post(reverse("catalogue:switch", args=["crash"]), {"to": "off"}, follow=True)
    assert "crash: this check looks for something that can hurt a rider" in text_of(response)
    assert draft_edition() is None


def test_a_check_goes_off_and_on(owner_client):
    """One tap each; others that wait for its answer are named instead."""
    switch = reverse("catalogue:switch", args=["gears"])
    owner_client.post(switch, {"to": "off"})
    owner_client.post(switch, {"to": "off"})
    assert draft_edition().overlay == {"off": ["gears"]}
    owner_client.post(switch, {"to": "on"})
    assert draft_edition().overlay == {}
    page = text_of(owner_client.get(reverse("catalogue:check", args=["cockpit_kind"])))
    assert load_catalogue().check("front_bolts").title in page
    assert not any(
        form.action.endswith("/switch/")
        for form in forms_of(owner_client.get(reverse("catalogue:check", args=["cockpit_kind"])), "/")
    )


def test_a_check_of_ones_own_from_the_form_to_the_rider(owner_client, rider_link):
    """Added, opened again as typed, published, and asked of riders; sent twice it is added once."""
    assert owner_client.post(reverse("catalogue:new"), NEW | {"do": "look"}).status_code == 200
    assert draft_edition() is None
    for _twice in range(2):
        assert owner_client.post(reverse("catalogue:new"), NEW).status_code == 302
    overlay = draft_edition().overlay
    assert [own["key"] for own in overlay["own_checks"]] == ["own_rack"]
    assert overlay["own_checks"][0]["faults"][0]["effects"] == {"saddle_setback": "limited"}
    path = reverse("catalogue:check", args=["own_rack"])
    assert sent(owner_client, path).status_code == 302
    assert draft_edition().overlay == overlay
    sent(owner_client, reverse("catalogue:draft"), note="Racks.")
    assert "Is a rack fitted?" in text_of(
        owner_client.get(reverse("check:question", args=[rider_link.token, "own_rack"]))
    )
    owner_client.post(reverse("catalogue:remove", args=["own_rack"]))
    assert draft_edition().overlay == {}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"chance_1": "10"}, "chance_1"),
        ({"chance_2": ""}, "chance_2"),
        ({"answer_2": ""}, "answer_2"),
        ({"rate": "120"}, "rate"),
        ({"p90": ""}, "p90"),
        ({"p90": "1"}, "p90"),
        ({"own_lead": ""}, "own_lead"),
        ({"own_title": "", "own_detail": "", "own_lead": ""}, "remedies"),
        ({"hazard": "do_not_ride"}, "remedies"),
        ({"title": "a\x00b"}, "title"),
        ({"group": "nowhere"}, "group"),
    ],
)
def test_each_slip_in_a_check_of_ones_own_is_said_beside_its_field(owner_client, change, field):
    """In the owner's words, with everything typed still there."""
    response = owner_client.post(reverse("catalogue:new"), NEW | change)
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert "It is in the way of the measuring." in text_of(response)
    assert draft_edition() is None


def test_the_draft_tells_which_verdicts_would_move(owner_client, fit_session):
    """Both catalogues judge the coming sessions; the queries stay the same for one session and for four."""
    studio = fit_session.studio
    fault = load_catalogue().check("gears").faults[0].key
    edit = {"gears": {"faults": {fault: {"rate": 1.0, "minutes": {"median_min": 300, "p90_min": 400}}}}}
    published(reword("x"))
    assert what_if(studio=studio, thresholds=thresholds(studio)).moved == ()
    change_draft(change=lambda _overlay: {"checks": edit}, by=None)
    page = text_of(owner_client.get(reverse("catalogue:draft")))
    assert "of 1 coming session" in page


def test_what_if_asks_as_often_for_one_as_for_four(
    fit_session, django_assert_num_queries, django_assert_max_num_queries
):
    """Constant queries."""
    studio = fit_session.studio
    with CaptureQueriesContext(connection) as once:
        what_if(studio=studio)
    factories.FitSessionFactory.create_batch(3, studio=studio, occupancy=False)
    with django_assert_num_queries(len(once)):
        assert what_if(studio=studio).judged == 4


def test_thresholds_are_looked_at_kept_and_judged_by(owner_client, fit_session):
    """Looking keeps nothing; keeping judges coming sessions at once."""
    refresh_summary(fit_session.pre_visit)
    TriageSummary.objects.update(reason="before")
    path = reverse("catalogue:studio_thresholds", args=[fit_session.studio.slug])
    look = sent(owner_client, path, least_chance="99", do="look")
    assert "1 coming session" in text_of(look)
    fit_session.studio.refresh_from_db()
    assert fit_session.studio.least_chance == 0.75
    assert TriageSummary.objects.get().reason == "before"
    assert sent(owner_client, path, least_chance="99", reckoned_from="1").status_code == 302
    fit_session.studio.refresh_from_db()
    assert (fit_session.studio.least_chance, fit_session.studio.reckoned_from) == (0.99, 0.01)
    assert TriageSummary.objects.get().reason != "before"


@pytest.mark.parametrize("typed", ["", "101", "-1", "NaN", "ten", "1e999"])
def test_a_share_that_cannot_be_is_said_beside_its_field(owner_client, fit_session, typed):
    """Nothing is kept."""
    path = reverse("catalogue:studio_thresholds", args=[fit_session.studio.slug])
    response = sent(owner_client, path, ask_gain=typed)
    assert (response.status_code, list(response.context["form"].errors)) == (422, ["ask_gain"])
    fit_session.studio.refresh_from_db()
    assert fit_session.studio.ask_gain == 0.2
