"""The rider's pages ask in the order of worth, and yet nothing jumps: back is back, on is on, the lists stay."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from intake.catalogue.schema import Group
from intake.selectors.previsit import check_list
from intake.slots import slot_of
from tests import factories

pytestmark = pytest.mark.django_db


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


def of_group(checks, group):
    """The open steps of one part."""
    return [step.key for step in checks.open_steps if step.group is group]


def answered(link, key, option="could_not", minutes_ago=0):
    """An answer of some minutes ago."""
    at = timezone.now() - timedelta(minutes=minutes_ago)
    return factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key=key, option=option, answered_at=at)


def test_within_a_part_what_is_worth_most_is_asked_first(checks):
    """The triage's own order, behind what other questions hang on."""
    listed = checks()
    ranked = [each.check.key for each in listed.triage.questions if each.check.group is Group.FEET]
    asked = of_group(listed, Group.FEET)
    assert asked[0] == "pedal_kind"
    assert asked[1:] == [key for key in ranked if key != "pedal_kind"]


def test_back_is_the_page_before(client, checks, question, rider_link):
    """What was answered stands as it was answered, so “Previous” leads to it."""
    first, second = of_group(checks(), Group.WHOLE)[:2]
    answered(rider_link, second, minutes_ago=5)
    answered(rider_link, first, minutes_ago=2)
    following = of_group(checks(), Group.WHOLE)[0]
    assert checks().before(following).key == first
    assert checks().before(first).key == second
    html = client.get(question(following)).content.decode()
    assert f'rel="prev" href="{question(first)}"' in html


def test_an_answer_leads_to_what_is_then_worth_most(client, checks, question):
    """Where nothing was passed over, the next question follows from the answer."""
    key = of_group(checks(), Group.FEET)[0]
    answer = client.post(question(key), {f"{key}-option": "clip_two_bolt"})
    assert answer["Location"] == question(of_group(checks(), Group.FEET)[0])


def test_what_was_passed_over_does_not_come_up_again(client, checks, question):
    """The page of the second question names the third, also where the first would be worth more."""
    first, second, third = of_group(checks(), Group.FEET)[:3]
    assert 'name="then"' not in client.get(question(first)).content.decode()
    assert f'name="then" value="{third}"' in client.get(question(second)).content.decode()
    answer = client.post(question(second), {f"{second}-option": "could_not", "then": third})
    assert answer["Location"] == question(third)


def test_after_the_last_question_comes_the_last_page(client, checks, question, rider_link):
    """Even where some were passed over: that page lists them."""
    last = checks().steps[-1].key
    assert 'name="then" value="finish"' in client.get(question(last)).content.decode()
    answer = client.post(question(last), {f"{last}-option": "could_not", "then": "finish"})
    assert answer["Location"] == reverse("check:finish", args=[rider_link.token])


@pytest.mark.parametrize("then", ["", "nothing", "x\x00y", "<script>", "spacers" * 40])
def test_a_forged_way_on_leads_to_the_next_open_question(client, checks, question, then):
    """What is not an open question is not followed."""
    key = of_group(checks(), Group.WHOLE)[0]
    answer = client.post(question(key), {f"{key}-option": "could_not", "then": then})
    assert answer["Location"] == question(of_group(checks(), Group.WHOLE)[0])


def test_a_corrected_answer_leads_on_to_what_is_open(client, checks, question, rider_link):
    """Not through everything that was answered since."""
    keys = of_group(checks(), Group.WHOLE)[:3]
    for place, key in enumerate(keys):
        answered(rider_link, key, minutes_ago=9 - place)
    answer = client.post(question(keys[0]), {f"{keys[0]}-option": "could_not", f"{keys[0]}-note": "Looked again."})
    assert answer["Location"] == question(of_group(checks(), Group.WHOLE)[0])


def test_the_page_with_everything_keeps_the_catalogues_order(client, checks, rider_link):
    """There an answer must not move what one is reading; the order is that of the paper form."""
    address = reverse("check:sheet", args=[rider_link.token])
    before = [each.key for each in checks().asked]
    shown = [entry["check"].key for entry in client.get(address).context["forms"]]
    key = of_group(checks(), Group.SEAT)[-1]
    sent = {f"{key}-option": "could_not", "back": "sheet"}
    saved = client.post(reverse("check:question", args=[rider_link.token, key]), sent, HTTP_HX_REQUEST="true")
    assert shown == before == [each.key for each in checks().asked]
    assert 'id="sheet"' not in saved.content.decode()


def test_progress_and_resuming_follow_the_same_order(client, checks, rider_link):
    """“Go on” leads to the first open step of the list."""
    answered(rider_link, "red_flags_emergency", "none")
    html = client.get(reverse("check:start", args=[rider_link.token])).content.decode()
    first = checks().open_steps[0].key
    assert first == "red_flags_clinician"
    assert f'href="{reverse("check:question", args=[rider_link.token, first])}">Go on where you stopped' in html
    assert (checks().done, checks().number(first)) == (1, 2)
