"""The short ways: whoever has five or ten minutes is asked what tells the studio most, and can stop at any answer."""

import pytest
from django.urls import reverse

from intake.catalogue.loader import load_catalogue
from intake.models import CheckAnswer
from intake.selectors.previsit import check_list
from intake.selectors.short_way import FIVE_MIN, TEN_MIN, most_telling, next_telling, short_way
from intake.slots import slot_of
from tests import factories
from tests.forms import forms_of

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


@pytest.mark.parametrize("minutes", [FIVE_MIN, TEN_MIN])
def test_a_short_way_takes_what_tells_most_and_fits_its_time(checks, minutes):
    """In the order of their worth; whatever is left out would take longer than what is left of the time."""
    ranked, short = most_telling(checks()), short_way(checks(), minutes)
    assert keys(short)[:3] == CLINICAL
    assert [step for step in ranked if step in short] == list(short)
    left = minutes
    for step in ranked:
        assert (step.home_min <= left) == (step in short)
        left -= step.home_min if step in short else 0
    assert left >= 0


def test_no_short_way_where_ten_minutes_are_all_there_is(client, checks, rider_link):
    """The last few questions are simply asked."""
    for check in load_catalogue().checks[:-2]:
        factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key=check.key, option="could_not")
    assert most_telling(checks())
    assert short_way(checks(), FIVE_MIN) == short_way(checks(), TEN_MIN) == ()
    assert "way=" not in client.get(reverse("check:start", args=[rider_link.token])).content.decode()


@pytest.mark.parametrize(("way", "words", "minutes"), [("five", 5, FIVE_MIN), ("short", 10, TEN_MIN)])
def test_the_start_page_offers_it(client, checks, rider_link, question, way, words, minutes):
    """A button for five minutes and one for ten: how many answers they are, leading to the first."""
    html = client.get(reverse("check:start", args=[rider_link.token])).content.decode()
    first = short_way(checks(), minutes)
    assert f"Only {words} minutes? The {len(first)} answers that tell most" in html
    assert f'href="{question(first[0].key)}?way={way}&amp;left={minutes}"' in html


def test_an_answer_leads_to_the_one_that_its_page_named(client, checks, question):
    """By plain posts: skip the first, answer the second, and the first does not come up again."""
    first, second, third = keys(most_telling(checks()))[:3]
    page = client.get(f"{question(first)}?way=short&left=12").content.decode()
    assert f'href="{question(second)}?way=short&amp;left=11"' in page
    assert "Enough for now" in page
    page = client.get(f"{question(second)}?way=short&left=11").content.decode()
    assert f'name="then" value="{third}"' in page
    sent = {f"{second}-option": "could_not", "way": "short", "then": third, "left": "11"}
    assert client.post(question(second), sent)["Location"] == f"{question(third)}?way=short&left=10"


@pytest.mark.parametrize(("way", "minutes"), [("five", FIVE_MIN), ("short", TEN_MIN)])
def test_it_ends_when_the_time_is_up(client, checks, question, way, minutes):
    """By the pages' own forms: the questions that it promised, each once, and then the last page."""
    promised = keys(short_way(checks(), minutes))
    address, walked = f"{question(promised[0])}?way={way}&left={minutes}", []
    while "finish" not in address:
        (form,) = forms_of(client.get(address), address)
        key = address.split("/question/")[1].split("/", maxsplit=1)[0]
        walked.append(key)
        address = client.post(form.action, form.filled("", chosen="could_not"))["Location"]
    assert walked == promised


@pytest.mark.parametrize("left", ["", "-3", "x", "1e9", "9999", "\x00", "٣", "0"])
def test_a_forged_time_is_no_harm(client, checks, question, left):
    """It counts as none, or the way ends."""
    key = keys(most_telling(checks()))[0]
    assert client.get(question(key), {"way": "five", "left": left}).status_code == 200
    answer = client.post(question(key), {f"{key}-option": "could_not", "way": "five", "left": left})
    assert answer.status_code == 302


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
        sent = {f"{key}-option": "could_not", "way": "short", "then": then.key if then else "finish"}
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
    assert "?way=five" in fitter_client.get(address).content.decode()
