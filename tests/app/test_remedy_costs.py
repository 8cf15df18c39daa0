"""What remedies cost at a studio: the owner's page, the rows, and what riders read."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse

from fitstudio.demo.answers import answer_all
from intake.catalogue.schema import CostBand
from intake.models import TriageSummary
from intake.slots import slot_of
from sessions.models import RemedyCosts
from tests import factories

pytestmark = pytest.mark.django_db

AMOUNTS = {
    "low_from": "20",
    "low_to": "50",
    "middle_from": "50",
    "middle_to": "90.50",
    "high_from": "120",
    "high_to": "250",
}


@pytest.fixture
def owner_client(client, owner_user):
    """A browser in which the owner is logged in."""
    client.force_login(owner_user)
    return client


def save(client, studio, **typed):
    """Send the page's form."""
    return client.post(reverse("costs:studio", args=[studio.slug]), AMOUNTS | typed)


def test_amounts_and_own_terms_are_kept_and_reach_the_triage(owner_client, fit_session):
    """A page that is saved; what differs from the catalogue alone is kept."""
    studio = fit_session.studio
    answer = save(owner_client, studio, days_workshop_bolts="2", band_workshop_gears="middle")
    assert answer.status_code == 302
    terms = slot_of(fit_session.pre_visit_id).slot.terms
    assert terms.amounts[CostBand.MIDDLE].to == 90.5
    assert RemedyCosts.objects.get().terms == {"workshop_bolts": {"lead_days": 2}, "workshop_gears": {"cost": "middle"}}
    page = owner_client.get(reverse("costs:page")).content.decode()
    assert "20–50 GBP at workshops here (an estimate)" in page


def test_a_studio_without_terms_goes_by_the_catalogue(fit_session):
    """No row, no difference, no further query."""
    terms = slot_of(fit_session.pre_visit_id).slot.terms
    assert (terms.remedies, terms.amounts, terms.currency) == ({}, {}, "GBP")


def test_a_preview_keeps_nothing(owner_client, studio):
    """It shows what riders would read."""
    answer = save(owner_client, studio, preview="1")
    assert answer.status_code == 200
    assert "nothing is kept yet" in answer.content.decode()
    assert "20–50 GBP at workshops here" in answer.content.decode()
    assert not RemedyCosts.objects.exists()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"low_to": ""}, "or leave all six empty"),
        ({"low_to": "10"}, "less than where the band begins"),
        ({"high_from": "30"}, "less than in the band before"),
        ({"low_from": "-1"}, "Give an amount"),
        ({"low_from": "NaN"}, "Give an amount"),
        ({"low_from": "<script>"}, "Give an amount"),
        ({"high_to": "1e30"}, "Give an amount"),
        ({"days_workshop_bolts": "2.5"}, "Give whole working days"),
        ({"days_workshop_bolts": "61"}, "Give whole working days"),
        ({"days_workshop_bolts": "-1"}, "Give whole working days"),
        ({"band_workshop_bolts": "ruinous"}, "Choose one of the bands"),
    ],
)
def test_what_makes_no_sense_is_refused_beside_its_field(owner_client, studio, typed, sentence):
    """Nothing typed is lost, nothing is kept."""
    answer = save(owner_client, studio, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert 'value="90.50"' in answer.content.decode()
    assert not RemedyCosts.objects.exists()


def test_saving_twice_keeps_one_row_and_judges_coming_sessions_again(owner_client, fit_session):
    """Their summaries are out of date."""
    answer_all(fit_session.pre_visit, slot_of(fit_session.pre_visit_id), {})
    for _time in range(2):
        save(owner_client, fit_session.studio)
    assert RemedyCosts.objects.count() == 1
    assert TriageSummary.objects.get().catalogue_version == ""


@pytest.mark.parametrize("changed", [{"low_to": None}, {"low_to": 1}, {"high_from": 30}, {"low_from": -1}])
def test_the_database_refuses_bands_that_do_not_rise(studio, changed):
    """Half of the amounts, or the wrong way round."""
    amounts = {name: float(value) for name, value in AMOUNTS.items()} | changed
    with pytest.raises(IntegrityError), transaction.atomic():
        RemedyCosts.objects.create(studio=studio, **amounts)


@pytest.mark.parametrize(
    "terms",
    [["x"], {"x": 2}, {"x": {}}, {"x": {"cost": "ruinous"}}, {"x": {"lead_days": -1}}, {"x": {"lead_days": True}}],
)
def test_own_terms_are_bands_and_days(studio, terms):
    """The back room's form refuses anything else."""
    with pytest.raises(ValidationError):
        RemedyCosts(studio=studio, terms=terms).full_clean()


def test_riders_read_what_an_errand_costs_and_is_good_for(client, studio):
    """On the page of what to do before the session."""
    RemedyCosts.objects.create(studio=studio, **AMOUNTS)
    fit_session = factories.FitSessionFactory(studio=studio)
    link = factories.RiderLinkFactory(pre_visit=fit_session.pre_visit)
    answer_all(fit_session.pre_visit, slot_of(fit_session.pre_visit_id), {"post_slides": "stuck"})
    page = client.get(reverse("check:advice", args=[link.token])).content.decode()
    assert "usually 120–250 GBP at workshops here (an estimate)" in page
    assert "these can be set: saddle height" in page


def test_the_page_takes_a_fixed_number_of_queries(owner_client, studio, django_assert_max_num_queries):
    """However many remedies there are."""
    with django_assert_max_num_queries(8):
        owner_client.get(reverse("costs:page"))
