"""The short way: whoever has ten minutes is asked first what tells the studio most, and can stop at any answer."""

import pytest
from django.urls import reverse

from intake.catalogue.loader import load_catalogue
from intake.models import CheckAnswer
from intake.selectors.previsit import check_list
from intake.selectors.short_way import SHORT_MIN, most_telling, next_telling, short_way
from intake.slots import slot_of
from tests import factories

pytestmark = pytest.mark.django_db
CLINICAL = ["red_flags_emergency", "red_flags_clinician", "injuries"]


@pytest.fixture
def checks(rider_link):
    """Read the rider's list as it stands."""

    def read():
        rider_link.pre_visit.refresh_from_db()
        return check_list(rider_link.pre_visit, slot_of(rider_link.pre_visit_id))

    return read


@pytest.fixture
def question(rider_link):
    """The address of a question."""
    return lambda key: reverse("check:question", args=[rider_link.token, key])


def keys(steps):
    """Their keys."""
    return [step.key for step in steps]


def test_the_order_is_that_of_the_triage_after_the_clinical_signs(checks):
    """Every open check, in the core's order, but for what belongs with a doctor."""
    listed = checks()
    ranked = keys(most_telling(listed))
    assert ranked[:3] == CLINICAL
    assert ranked[3:] == [one.check.key for one in listed.triage.questions if one.check.key not in CLINICAL]
    assert set(ranked) == {check.key for check in listed.asked}


def test_the_short_way_is_the_head_of_that_order_and_fits_its_time(checks):
    """About ten minutes, and no further question would still fit."""
    ranked, short = most_telling(checks()), short_way(checks())
    assert ranked[: len(short)] == short
    assert sum(step.home_min for step in short) <= SHORT_MIN < sum(step.home_min for step in ranked[: len(short) + 1])


def test_no_short_way_where_ten_minutes_are_all_there_is(client, checks, rider_link):
    """The last few questions are simply asked."""
    for check in load_catalogue().checks[:-2]:
        factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key=check.key, option="could_not")
    assert most_telling(checks())
    assert short_way(checks()) == ()
    assert "way=short" not in client.get(reverse("check:start", args=[rider_link.token])).content.decode()


def test_the_start_page_offers_it(client, checks, rider_link, question):
    """One button that says how many answers they are, leading to the first."""
    html = client.get(reverse("check:start", args=[rider_link.token])).content.decode()
    first = short_way(checks())
    assert f"The {len(first)} answers that tell most" in html
    assert f'href="{question(first[0].key)}?way=short"' in html


def test_an_answer_leads_to_the_one_that_its_page_named(client, checks, question):
    """By plain posts: skip the first, answer the second, and the first does not come up again."""
    first, second, third = keys(most_telling(checks()))[:3]
    page = client.get(f"{question(first)}?way=short").content.decode()
    assert f'href="{question(second)}?way=short"' in page
    assert "Enough for now" in page
    page = client.get(f"{question(second)}?way=short").content.decode()
    assert f'name="then" value="{third}"' in page
    sent = {f"{second}-option": "could_not", "way": "short", "then": third}
    assert client.post(question(second), sent)["Location"] == f"{question(third)}?way=short"


@pytest.mark.parametrize("then", ["", "nothing", "x\x00y", "discomfort", "<script>"])
def test_a_forged_way_on_leads_to_the_best_open_question(client, checks, question, then):
    """What is not an open question is not followed."""
    key = keys(most_telling(checks()))[0]
    sent = {f"{key}-option": "could_not", "way": "short", "then": then}
    answer = client.post(question(key), sent)
    assert answer["Location"] == f"{question(keys(most_telling(checks()))[0])}?way=short"


def test_it_ends_at_the_last_page(client, checks, question, rider_link):
    """Followed to its end it has asked everything but what hurts; each answer is stored once."""
    address, walked = f"{question(keys(most_telling(checks()))[0])}?way=short", 0
    while "finish" not in address:
        walked += 1
        assert walked < 100
        key = address.split("/question/")[1].split("/", maxsplit=1)[0]
        then = next_telling(checks(), key)
        sent = {f"{key}-option": "could_not", "way": "short", "then": then.key if then else ""}
        address = client.post(address, sent)["Location"]
    assert walked == CheckAnswer.objects.count()
    assert keys(checks().open_steps) == ["discomfort"]


def test_a_refused_answer_stays_on_the_short_way(client, question):
    """The page with the reasons still knows where it was going."""
    page = client.post(question("spacers"), {"spacers-under_mm": "banana", "way": "short", "then": "crash"})
    assert page.status_code == 422
    assert 'name="then" value="crash"' in page.content.decode()


def test_a_warning_is_read_before_going_on(client, question):
    """An answer that brings up a danger stays on its page, on the short way as on the whole one."""
    answer = client.post(question("crash"), {"crash-option": "crack", "way": "short", "then": "gears"})
    assert answer["Location"] == f"{question('crash')}?way=short#warnings-crash"


def test_the_desk_goes_it_too(fitter_client, fit_session):
    """For a caller with little time."""
    address = reverse("desk_check:start", args=[fit_session.pre_visit_id])
    assert "?way=short" in fitter_client.get(address).content.decode()
