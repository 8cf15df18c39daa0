"""The desk fills the check in for a caller: the same pages and rules, with the name of who entered it."""

import pytest
from django.urls import reverse
from django.utils.html import escape

from intake.catalogue.loader import load_catalogue
from intake.models import CheckAnswer, OutgoingMail
from intake.selectors.previsit import check_list
from intake.slots import slot_of

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def pre_visit(fit_session):
    """The check of the booked session."""
    return fit_session.pre_visit


def desk_url(pre_visit, page, *args):
    """The address of a page at the desk."""
    return reverse(f"desk_check:{page}", args=[pre_visit.pk, *args])


def test_an_answer_names_who_entered_it(fitter_client, fitter_user, pre_visit):
    """The desk's answer is kept with the member of staff; the rider's own later answer is the rider's."""
    fitter_client.post(desk_url(pre_visit, "question", "gears"), {"gears-option": "fine"})
    row = CheckAnswer.objects.get()
    assert (row.option, row.answered_by) == ("fine", fitter_user)


def test_pages_at_the_desk_lead_to_pages_at_the_desk(fitter_client, pre_visit):
    """No page at the desk holds an address of a private link, and the next question is the desk's."""
    response = fitter_client.post(desk_url(pre_visit, "question", "gears"), {"gears-option": "fine"})
    assert response["Location"].startswith(desk_url(pre_visit, "start"))
    for page, args in (("start", ()), ("question", ("gears",)), ("discomfort", ()), ("finish", ()), ("advice", ())):
        assert '"/r/' not in fitter_client.get(desk_url(pre_visit, page, *args)).content.decode()


def test_the_sheet_holds_every_question_that_is_asked(fitter_client, pre_visit):
    """For a call, all questions stand on one page, each in a form of its own with ids of its own."""
    shown = fitter_client.get(desk_url(pre_visit, "sheet")).content.decode()
    for check in check_list(pre_visit, slot_of(pre_visit.pk)).asked:
        assert f'action="{desk_url(pre_visit, "question", check.key)}"' in shown
        assert f'id="saved-{check.key}"' in shown
    ids = [part.split('"')[0] for part in shown.split(' id="')[1:]]
    assert len(ids) == len(set(ids))


def test_a_plain_save_on_the_sheet_returns_to_its_question(fitter_client, pre_visit):
    """Without JavaScript the sheet comes back at the place that was being filled in."""
    response = fitter_client.post(desk_url(pre_visit, "question", "gears"), {"gears-option": "fine", "back": "sheet"})
    assert response["Location"] == desk_url(pre_visit, "sheet") + "#gears"


def test_an_answer_that_changes_what_is_asked_brings_the_new_sheet(fitter_client, pre_visit):
    """A flat pedal takes the cleat questions off the sheet in place; any other answer leaves the sheet alone."""
    address = desk_url(pre_visit, "question", "pedal_kind")
    shown = fitter_client.post(address, {"pedal_kind-option": "flat", "back": "sheet"}, **HTMX).content.decode()
    assert 'id="sheet"' in shown
    assert 'id="cleat_wear"' not in shown
    assert 'id="gears"' in shown
    address = desk_url(pre_visit, "question", "gears")
    shown = fitter_client.post(address, {"gears-option": "fine", "back": "sheet"}, **HTMX).content.decode()
    assert 'id="sheet"' not in shown


def test_a_rider_who_knows_their_bike_answers_on_one_page(client, rider_link):
    """The same sheet under the private link: found from the start page, its cautions unfolded, saving back to itself."""
    sheet = reverse("check:sheet", args=[rider_link.token])
    assert sheet in client.get(reverse("check:start", args=[rider_link.token])).content.decode()
    shown = client.get(sheet).content.decode()
    for check in check_list(rider_link.pre_visit, slot_of(rider_link.pre_visit_id)).asked:
        assert f'id="saved-{check.key}"' in shown
        assert not check.caution or f"Caution:</strong> {escape(check.caution)}</span>" in shown
    address = reverse("check:question", args=[rider_link.token, "gears"])
    assert client.post(address, {"gears-option": "fine", "back": "sheet"})["Location"] == f"{sheet}#gears"
    assert reverse("check:finish", args=[rider_link.token]) in shown


def test_handing_in_for_a_caller_mails_the_rider(fitter_client, pre_visit):
    """The advice goes to the rider, and the desk reads to whom it went."""
    fitter_client.post(desk_url(pre_visit, "question", "gears"), {"gears-option": "slipping"})
    response = fitter_client.post(desk_url(pre_visit, "finish"), {"note": "rang at noon"}, follow=True)
    assert OutgoingMail.objects.get().to == pre_visit.client.email
    assert pre_visit.client.email in response.content.decode()


def test_discomfort_can_be_taken_over_the_telephone(fitter_client, pre_visit):
    """The same figure, list and rules."""
    fitter_client.post(desk_url(pre_visit, "place", "lower_back-left"), {"score": "4", "after_min": "90"})
    assert pre_visit.discomforts.get().after_min == 90
    assert fitter_client.post(desk_url(pre_visit, "place", "lower_back-left"), {"score": "x"}).status_code == 422


def test_a_question_that_is_not_asked_is_refused_in_words(fitter_client, pre_visit):
    """The desk reads the same sentence as a rider."""
    pre_visit.bike.pedal_kind = "flat"
    pre_visit.bike.save()
    response = fitter_client.post(desk_url(pre_visit, "question", "cleat_wear"), {"cleat_wear-option": "good"})
    assert response.status_code == 422
    assert load_catalogue().check("cleat_wear").key not in {row.check_key for row in pre_visit.answers.all()}
