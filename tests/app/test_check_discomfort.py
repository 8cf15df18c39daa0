"""What hurts is taken by place and side, saves itself, and brings the plain advice where it is severe."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from intake.catalogue.loader import load_catalogue
from intake.models import Discomfort, PreVisitCheck
from intake.models.previsit import Phase
from intake.selectors.previsit import DISCOMFORT, check_list
from intake.services.discomfort import Felt, save_discomfort, say_nothing_hurts
from intake.slots import slot_of
from tests import factories

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


def page_url(link):
    """The address of the figure."""
    return reverse("check:discomfort", args=[link.token])


def place_url(link, key="knee_front-left"):
    """The address of one place."""
    return reverse("check:place", args=[link.token, key])


def felt(link):
    """Everything that was marked, as plain values."""
    rows = Discomfort.objects.filter(pre_visit=link.pre_visit)
    return sorted(rows.values_list("area", "side", "score", "after_min", "note"))


def test_figure_and_list_lead_to_every_place(client, rider_link):
    """Each area of the catalogue, on each side it is asked for, is a link on the figure and one in the list."""
    shown = client.get(page_url(rider_link)).content.decode()
    for area in load_catalogue().areas:
        for key in [f"{area.key}-left", f"{area.key}-right"] if area.sided else [area.key]:
            figure, plain_list = shown.split("The same as a list")
            assert place_url(rider_link, key) in figure
            assert place_url(rider_link, key) in plain_list
            assert client.get(place_url(rider_link, key)).status_code == 200


def test_a_mark_is_saved_and_shown_on_figure_and_list(client, rider_link):
    """A plain post stores the place and goes back to the figure, where number and words show it."""
    response = client.post(place_url(rider_link), {"score": "6", "after_min": "45", "note": "uphill"})
    assert response["Location"] == page_url(rider_link)
    assert felt(rider_link) == [("knee_front", "left", 6, 45, "uphill")]
    shown = client.get(page_url(rider_link)).content.decode()
    assert 'aria-label="Knee, front, left: 6 of 10, after 45 min"' in shown
    assert shown.count("6 of 10, after 45 min") >= 3


def test_a_mark_saves_itself(client, rider_link):
    """The autosave stores what is there and answers with the parts that change, none of them an input."""
    response = client.post(place_url(rider_link), {"score": "3", "after_min": "", "note": ""}, **HTMX)
    assert response.status_code == 200
    assert "Saved at" in response.content.decode()
    assert "<input" not in response.content.decode()
    assert felt(rider_link) == [("knee_front", "left", 3, None, "")]


def test_the_same_mark_twice_is_one_row(client, rider_link):
    """Another tap changes the place, it does not add one."""
    for score in ("3", "3", "5"):
        client.post(place_url(rider_link), {"score": score})
    assert felt(rider_link) == [("knee_front", "left", 5, None, "")]


def test_left_and_right_are_two_places(client, rider_link):
    """The sides of the body are kept apart."""
    client.post(place_url(rider_link, "knee_front-left"), {"score": "3"})
    client.post(place_url(rider_link, "knee_front-right"), {"score": "7"})
    assert [row[1:3] for row in felt(rider_link)] == [("left", 3), ("right", 7)]


@pytest.mark.parametrize(("score", "severe"), [("7", False), ("8", True), ("10", True)])
@pytest.mark.parametrize("htmx", [False, True])
def test_severe_pain_brings_the_advice_at_once(client, rider_link, score, severe, htmx):
    """From 8 of 10 on the rider is told to see a clinician first, on the place's page and on the figure's."""
    response = client.post(place_url(rider_link), {"score": score}, **(HTMX if htmx else {}))
    if not htmx:
        assert response["Location"] == (place_url(rider_link) if severe else page_url(rider_link))
        response = client.get(response["Location"])
    assert ("doctor or physiotherapist" in response.content.decode()) is severe
    assert ("doctor or physiotherapist" in client.get(page_url(rider_link)).content.decode()) is severe


def test_a_mark_can_be_taken_away(client, rider_link):
    """A slip on the figure leaves no trace."""
    client.post(place_url(rider_link), {"score": "3"})
    client.post(place_url(rider_link), {"forget": "1", "score": "3"})
    assert felt(rider_link) == []


def test_nothing_hurts_is_an_answer(client, rider_link):
    """It counts as a step, and goes again when a place is marked."""
    response = client.post(page_url(rider_link))
    rider_link.pre_visit.refresh_from_db()
    assert rider_link.pre_visit.no_discomfort
    steps = check_list(rider_link.pre_visit, slot_of(rider_link.pre_visit_id))
    assert steps.done == 1
    assert steps.after("discomfort").key in response["Location"]
    client.post(place_url(rider_link), {"score": "0"})
    rider_link.pre_visit.refresh_from_db()
    assert rider_link.pre_visit.no_discomfort
    client.post(place_url(rider_link), {"score": "1"})
    rider_link.pre_visit.refresh_from_db()
    assert not rider_link.pre_visit.no_discomfort


def test_nothing_hurts_is_not_taken_beside_a_mark(client, rider_link):
    """Two tabs cannot say both: the mark stays and the page says so."""
    client.post(place_url(rider_link), {"score": "4"})
    response = client.post(page_url(rider_link), follow=True)
    rider_link.pre_visit.refresh_from_db()
    assert not rider_link.pre_visit.no_discomfort
    assert "still marked as hurting" in response.content.decode()


def test_a_mark_beside_another_tab_that_says_nothing_hurts(rider_link):
    """Whichever comes last, the two never stand side by side: this tab had read the check before the other was saved."""
    checks = PreVisitCheck.objects.select_related("bike")
    read_before, slot = checks.get(pk=rider_link.pre_visit_id), slot_of(rider_link.pre_visit_id)
    say_nothing_hurts(pre_visit=checks.get(pk=rider_link.pre_visit_id), session_slot=slot)
    save_discomfort(pre_visit=read_before, session_slot=slot, area="neck", side="", felt=Felt(5))
    assert not checks.get(pk=rider_link.pre_visit_id).no_discomfort


def test_what_was_felt_after_the_session_is_another_matter(client, rider_link):
    """The check shows and changes only what was felt before."""
    factories.DiscomfortFactory(
        pre_visit=rider_link.pre_visit, area="knee_front", side="left", phase=Phase.AFTER, score=1
    )
    client.post(place_url(rider_link), {"score": "5"})
    assert [row[2] for row in felt(rider_link)] == [1, 5]
    client.post(place_url(rider_link), {"forget": "1"})
    assert [row[2] for row in felt(rider_link)] == [1]


def test_nothing_changes_after_the_slot_has_begun(client, rider_link):
    """The figure is for reading then."""
    client.post(place_url(rider_link), {"score": "5"})
    fit_session = rider_link.pre_visit.fit_session
    fit_session.starts_at, fit_session.ends_at = timezone.now() - timedelta(minutes=1), timezone.now()
    fit_session.save()
    for data in ({"score": "9"}, {"forget": "1"}):
        assert client.post(place_url(rider_link), data).status_code == 409
    assert client.post(page_url(rider_link)).status_code == 409
    assert felt(rider_link) == [("knee_front", "left", 5, None, "")]
    shown = client.get(place_url(rider_link)).content.decode()
    assert "5 of 10" in shown
    assert "<form" not in shown


@pytest.mark.parametrize(
    "key",
    ["knee_front", "neck-left", "knee_front-both", "no_such_area", "knee_front-left-left", "knee_front--", "-left"],
)
def test_a_place_that_no_body_has_is_not_found(client, rider_link, key):
    """Sided areas need a side, the others take none; a forged place stores nothing."""
    assert client.get(place_url(rider_link, key)).status_code == 404
    assert client.post(place_url(rider_link, key), {"score": "3"}).status_code == 404
    assert felt(rider_link) == []


@pytest.mark.parametrize("score", ["", "11", "-1", "3.5", "NaN", "three", "3\x00", "9" * 5000, "<script>"])
@pytest.mark.parametrize("htmx", [False, True])
def test_a_score_that_is_none_is_refused_and_the_rest_kept(client, rider_link, score, htmx):
    """The page says what to choose and keeps what was typed beside it."""
    data = {"score": score, "after_min": "30", "note": "burning"}
    response = client.post(place_url(rider_link), data, **(HTMX if htmx else {}))
    shown = response.content.decode()
    assert "from 0 to 10" in shown
    assert response.status_code == (200 if htmx and not score else 422)
    assert felt(rider_link) == []
    if not htmx:
        assert "burning" in shown
        assert 'value="30"' in shown


@pytest.mark.parametrize("minutes", ["-1", "1441", "soon", "4.5", "NaN", "9" * 5000, "1e3"])
@pytest.mark.parametrize("htmx", [False, True])
def test_absurd_minutes_are_refused_while_the_score_is_saved(client, rider_link, minutes, htmx):
    """The number that was chosen is worth keeping; the minutes are shown again with the reason."""
    client.post(place_url(rider_link), {"score": "2", "after_min": "20"})
    response = client.post(place_url(rider_link), {"score": "6", "after_min": minutes}, **(HTMX if htmx else {}))
    shown = response.content.decode()
    assert response.status_code == 422
    assert "inutes" in shown
    assert felt(rider_link) == [("knee_front", "left", 6, 20, "")]
    if not htmx:
        assert f'value="{minutes}"' in shown


def test_discomfort_reaches_the_triage(client, rider_link):
    """A complaint beside a finding that can go with it is worth ruling out first, in both directions."""
    question = reverse("check:question", args=[rider_link.token, "saddle_shell"])
    client.post(question, {"saddle_shell-option": "sunk"})
    client.post(place_url(rider_link), {"score": "4"})
    advice = client.get(reverse("check:advice", args=[rider_link.token])).content.decode()
    assert "Worth ruling out first" in advice
    assert "Knee, front, left" in advice
    assert "not a diagnosis" in advice


def test_no_check_takes_the_address_of_this_page():
    """The page stands among the questions under a key of its own."""
    assert DISCOMFORT not in {check.key for check in load_catalogue().checks}
