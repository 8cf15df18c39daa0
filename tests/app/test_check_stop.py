"""A red flag stops the rider's check: advice first, a way to correct a slip, and nothing more until the studio has read it."""

import pytest
from django.urls import reverse

from intake.models import CheckAnswer, RedFlagNote
from intake.selectors.previsit import check_list
from intake.slots import slot_of
from tests import factories

pytestmark = pytest.mark.django_db

ADVICE = "The check stops here."
FLAGS = [
    ("red_flags_emergency", "nerve"),
    ("red_flags_emergency", "not_sure"),
    ("red_flags_clinician", "back"),
    ("injuries", "not_asked"),
]


@pytest.fixture
def address(rider_link):
    """An address of the rider's check."""
    return lambda page, *args: reverse(f"check:{page}", args=[rider_link.token, *args])


@pytest.fixture
def flagged(rider_link):
    """A rider who has reported a swollen calf."""
    factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key="red_flags_clinician", option="swollen")
    return rider_link


@pytest.mark.parametrize(("key", "option"), FLAGS)
def test_a_red_flag_stops_the_flow_at_its_own_page(client, address, key, option):
    """The answer is kept, its page is shown again with the advice, and leads to what to do now, not to the next question."""
    answer = client.post(address("question", key), {f"{key}-option": option})
    assert answer["Location"] == address("question", key) + f"#warnings-{key}"
    html = client.get(address("question", key)).content.decode()
    assert 'class="notice danger"' in html
    assert 'rel="next"' not in html
    assert f'href="{address("advice")}">What to do now' in html


@pytest.mark.parametrize(
    ("page", "args"),
    [("question", ["gears"]), ("sheet", []), ("discomfort", []), ("place", ["neck"])],
)
def test_every_other_page_shows_the_advice_instead(client, flagged, address, page, args):
    """And where a slip can be corrected."""
    html = client.get(address(page, *args)).content.decode()
    assert ADVICE in html
    assert "See a doctor or physiotherapist first" in html
    assert f'href="{address("question", "red_flags_clinician")}"' in html
    assert "<form" not in html.partition("<main")[2].partition("</main>")[0]


def test_the_start_page_says_so_first(client, flagged, address):
    """The advice stands above everything, and nothing leads on to the bike but the list of what was answered."""
    html = client.get(address("start")).content.decode()
    assert html.index("See a doctor or physiotherapist first") < html.index(ADVICE) < html.index('id="group-1"')
    for lead in ("Only five minutes", "Go on where you stopped", "Answer everything on one page"):
        assert lead not in html


def test_a_corrected_slip_lets_the_rider_go_on(client, flagged, address):
    """The page of the answer is open, and the next question follows it."""
    page = client.get(address("question", "red_flags_clinician")).content.decode()
    assert 'name="red_flags_clinician-option"' in page
    answer = client.post(address("question", "red_flags_clinician"), {"red_flags_clinician-option": "none"})
    assert ADVICE not in client.get(answer["Location"]).content.decode()


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_an_answer_typed_on_a_page_left_open_is_not_lost(client, flagged, address, headers):
    """It is kept; the next page is the advice."""
    answer = client.post(address("question", "gears"), {"gears-option": "fine"}, headers=headers)
    assert CheckAnswer.objects.get(check_key="gears").option == "fine"
    if not headers:
        assert ADVICE in client.get(answer["Location"]).content.decode()


def test_once_the_studio_has_read_it_the_bike_may_be_answered(client, flagged, address):
    """The advice still stands on top, and a further flag stops it again."""
    RedFlagNote.objects.create(pre_visit=flagged.pre_visit, note="Rang: she sees her doctor on Wednesday.")
    assert ADVICE not in client.get(address("question", "gears")).content.decode()
    start = client.get(address("start")).content.decode()
    assert start.index("See a doctor or physiotherapist first") < start.index("Go on where you stopped")
    client.post(address("question", "red_flags_emergency"), {"red_flags_emergency-option": "chest"})
    assert ADVICE in client.get(address("question", "gears")).content.decode()


def test_the_desk_is_not_kept_from_its_pages(fitter_client, flagged):
    """It is the one that speaks to the rider."""
    desk = reverse("desk_check:question", args=[flagged.pre_visit_id, "gears"])
    assert ADVICE not in fitter_client.get(desk).content.decode()


def test_every_answer_but_none_stops(rider_link):
    """Also a doubt: the triage decides, no list of questions in the pages."""
    checks = check_list(rider_link.pre_visit, slot_of(rider_link.pre_visit_id))
    stopping = {check.key for check in checks.clinical}
    assert stopping == {key for key, _option in FLAGS}
