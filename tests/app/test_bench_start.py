"""The bench's first page: what was found, the start and its taking back, and who gets in."""

import pytest
from django.urls import reverse

from intake.models import CheckAnswer
from sessions.diary.errors import MoveNotAllowedError
from sessions.models import FitRecord, StateChange
from sessions.selectors.bench.records import bench_of
from sessions.services.bench.errors import RecordNotEmptyError
from sessions.services.bench.records import begin_record, take_back_start
from tests import factories
from tests.app.bench_help import address, begun, keep

pytestmark = pytest.mark.django_db


def home(fit_session):
    """The address of the first page."""
    return reverse("bench:home", args=[fit_session.pk])


def test_the_page_says_in_one_line_what_was_found(fitter_client, fit_session):
    """Verdict, held adjustments and complaints stand ready before anything is measured."""
    check = fit_session.pre_visit
    factories.CheckAnswerFactory(pre_visit=check, check_key="post_slides", option="stuck")
    factories.DiscomfortFactory(pre_visit=check, area="neck", score=7)
    html = fitter_client.get(home(fit_session)).content.decode()
    assert CheckAnswer.objects.count() == 1
    assert 'class="verdict verdict-fix_first' in html or "verdict-do_not_ride" in html
    held = html[html.index('class="held"') :]
    assert held.index("saddle height") < held.index("adjustment-locked")
    assert "Neck" in html


def test_every_red_flag_is_named_at_the_bench(fitter_client, fit_session):
    """Whoever fits must know which, with the rider standing there."""
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="red_flags_emergency", option="chest")
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="red_flags_clinician", option="numb_weak")
    html = fitter_client.get(home(fit_session)).content.decode()
    assert "Chest pain, fainting or unusual breathlessness reported" in html
    assert "Numbness or weakness that stays reported" in html


def test_beginning_sets_the_session_under_way_and_keeps_who(fitter_client, fitter_user, fit_session):
    """One tap opens the record; the history says who did it."""
    response = fitter_client.post(reverse("bench:begin", args=[fit_session.pk]))
    assert response.status_code == 302
    fit_session.refresh_from_db()
    assert fit_session.state == "under_way"
    step = StateChange.objects.get(fit_session=fit_session)
    assert (step.from_state, step.to_state, step.changed_by) == ("booked", "under_way", fitter_user)


def test_the_next_visit_is_proposed_by_the_service(fit_session):
    """Six weeks after the session unless the service says otherwise."""
    record = begun(fit_session)
    days = (record.follow_up_on - fit_session.starts_at.date()).days
    assert days == fit_session.service.follow_up_days == 42


def test_beginning_twice_is_beginning_once(fitter_client, fit_session):
    """A double tap makes no second record and no second step in the history."""
    for _again in range(2):
        fitter_client.post(reverse("bench:begin", args=[fit_session.pk]))
    assert FitRecord.objects.count() == 1
    assert StateChange.objects.count() == 1


@pytest.mark.parametrize("state", ["held", "cancelled"])
def test_a_session_that_does_not_take_place_cannot_begin(fitter_client, fit_session, state):
    """It is said, nothing is stored, and no button offers it."""
    fit_session.state = state
    fit_session.save()
    with pytest.raises(MoveNotAllowedError):
        begin_record(fit_session=fit_session, by=None)
    response = fitter_client.post(reverse("bench:begin", args=[fit_session.pk]), follow=True)
    assert "cannot go from" in response.content.decode()
    assert "Begin the session" not in response.content.decode()
    assert not FitRecord.objects.exists()


def test_a_session_marked_done_can_still_be_recorded(fit_session):
    """Paper notes are entered afterwards, without turning the session's state back."""
    fit_session.state = "done"
    fit_session.save()
    begun(fit_session)
    fit_session.refresh_from_db()
    assert fit_session.state == "done"
    assert bench_of(fit_session.pk).is_open


def test_an_empty_start_can_be_taken_back(fitter_client, fit_session):
    """A start by mistake leaves nothing but its history."""
    begun(fit_session)
    fitter_client.post(reverse("bench:take_back", args=[fit_session.pk]))
    fit_session.refresh_from_db()
    assert fit_session.state == "confirmed"
    assert not FitRecord.objects.exists()


def test_a_start_stays_once_something_is_recorded(fitter_client, fit_session):
    """What was measured is never thrown away by a slip."""
    record = begun(fit_session)
    keep(record, "before", {"saddle_height": 734})
    with pytest.raises(RecordNotEmptyError):
        take_back_start(fit_session=fit_session, by=None)
    response = fitter_client.post(reverse("bench:take_back", args=[fit_session.pk]), follow=True)
    assert "Something has been recorded already" in response.content.decode()
    assert record.readings.count() == 1


PAGES = [("body",), ("position", "before"), ("points", "after"), ("changes",), ("closing",), ("insertion",), ("home",)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page[0])
def test_every_page_opens_for_staff_and_for_nobody_else(page, client, fitter_user, fit_session):
    """A stranger is sent to the log-in, whoever works there comes in."""
    path = address(page[0], begun(fit_session), *page[1:])
    assert client.get(path).status_code == 302
    client.force_login(fitter_user)
    assert client.get(path).status_code == 200


@pytest.mark.parametrize("page", PAGES[:5], ids=lambda page: page[0])
def test_without_a_record_a_page_leads_to_the_start(page, fitter_client, fit_session):
    """Nothing can be typed that would have nowhere to go; a page left open in another window is told so."""
    path = reverse(f"bench:{page[0]}", args=[fit_session.pk, *page[1:]])
    assert fitter_client.get(path)["Location"] == home(fit_session)
    assert fitter_client.post(path, headers={"HX-Request": "true"}).status_code in {405, 409}


@pytest.mark.parametrize("made_up", [0, 999_999_999, 10**30])
def test_a_session_that_is_not_there_is_not_found(fitter_client, fit_session, made_up):
    """Whatever number stands in the address."""
    assert fitter_client.get(f"/desk/bench/{made_up}/").status_code == 404


@pytest.mark.parametrize("name", ["begin", "take_back", "reopen", "unit"])
def test_what_changes_something_is_not_done_by_opening_it(fitter_client, fit_session, name):
    """A link that is followed by accident does nothing."""
    assert fitter_client.get(reverse(f"bench:{name}", args=[fit_session.pk])).status_code == 405


def test_the_first_page_asks_the_database_the_same_however_much_is_recorded(
    fitter_client, fit_session, django_assert_num_queries
):
    """Its steps are counted, not loaded."""
    record = begun(fit_session)
    with django_assert_num_queries(17):
        fitter_client.get(home(fit_session))
    keep(record, "before", {"saddle_height": 734, "saddle_tilt": 1, "drop": 60, "bb_height": 270})
    factories.DiscomfortFactory.create_batch(1, pre_visit=fit_session.pre_visit, area="hip", side="left")
    with django_assert_num_queries(17):
        fitter_client.get(home(fit_session))


def test_the_unit_is_remembered_in_this_browser(fitter_client, fit_session):
    """Inches are shown from then on; an unknown unit changes nothing."""
    record = begun(fit_session)
    keep(record, "before", {"saddle_height": 736.6})
    path = address("position", record, "before")
    for sent, shown in (("in", "29"), ("furlong", "29"), ("mm", "736.6")):
        fitter_client.post(address("unit", record), {"unit": sent, "step": "before"})
        assert f'value="{shown}"' in fitter_client.get(path).content.decode()
