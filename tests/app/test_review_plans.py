"""Ways to be ready on the review page: plans to agree on, and where to move when none fits."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from fitstudio.demo.answers import answer_all
from intake.models import FindingDecision, OutgoingMail
from intake.slots import slot_of
from sessions.models import FitSession, RemedyCosts
from sessions.services.review.plans import agree_on_plan
from tests import factories

pytestmark = pytest.mark.django_db

WEDNESDAY_NOON = datetime(2026, 3, 4, 12, tzinfo=ZoneInfo("Europe/London"))


@pytest.fixture
def stuck(studio, time_machine):
    """A session two weeks away whose seatpost is stuck and whose bolts are rusty."""
    time_machine.move_to(WEDNESDAY_NOON, tick=False)
    return with_a_stuck_post(studio, days=14)


def with_a_stuck_post(studio, days):
    """A session so many days after the Wednesday."""
    fit_session = factories.FitSessionFactory(studio=studio, starts_at=WEDNESDAY_NOON + timedelta(days=days))
    factories.RiderLinkFactory(pre_visit=fit_session.pre_visit)
    answer(fit_session, post_slides="stuck", seat_bolts="rusty")
    return fit_session


def answer(fit_session, **told):
    """Answer everything that is asked, as told or that all is well."""
    answer_all(fit_session.pre_visit, slot_of(fit_session.pre_visit_id), told)


def page_of(client, fit_session):
    """The review page as text."""
    return client.get(reverse("review:session", args=[fit_session.pk])).content.decode()


def shown(client, fit_session):
    """The plans that the page has."""
    return client.get(reverse("review:session", args=[fit_session.pk])).context["page"].plans


def test_the_page_offers_the_cheapest_plan_first(fitter_client, stuck):
    """Who, what, by when, what it costs and what it unlocks."""
    plans = shown(fitter_client, stuck)
    first = plans.plans[0]
    assert first.key == "post_slides.stuck:workshop_frees_post seat_bolts.corroded:rider_clean_hex"
    assert [errand.by for errand in first.errands] == ["Mon 9 Mar", "Tue 17 Mar"]
    assert "saddle height" in first.errands[0].gains[0]
    text = page_of(fitter_client, stuck)
    assert "Ways to be ready" in text
    assert "high cost" in text


def test_a_session_that_is_clear_has_no_plans(fitter_client, studio):
    """Nothing stands in the way."""
    fit_session = factories.FitSessionFactory(studio=studio)
    answer(fit_session)
    assert shown(fitter_client, fit_session) is None
    assert "Ways to be ready" not in page_of(fitter_client, fit_session)


def test_agreeing_keeps_the_rulings_and_leads_to_the_letter(fitter_client, fitter_user, stuck):
    """One tap; the letter names remedy, day and cost, and nothing is mailed yet."""
    key = shown(fitter_client, stuck).plans[0].key
    mails = OutgoingMail.objects.count()
    answer = fitter_client.post(reverse("review:agree", args=[stuck.pk]), {"plan": key}, follow=True)
    rows = FindingDecision.objects.filter(pre_visit=stuck.pre_visit).order_by("finding_key")
    assert [(row.finding_key, row.ruling, row.decided_by) for row in rows] == [
        ("post_slides.stuck", "fix_first", fitter_user),
        ("seat_bolts.corroded", "fix_first", fitter_user),
    ]
    assert rows[0].note == "Agreed: A workshop frees the stuck post"
    body = answer.context["form"].initial["body"]
    assert "A workshop frees the stuck post" in body
    assert "start by Monday 9 March" in body
    assert "Bolts are tightened to the figure" in body
    assert OutgoingMail.objects.count() == mails
    assert shown(fitter_client, stuck).plans[0].agreed


def test_a_second_tap_keeps_nothing_twice(fitter_client, stuck):
    """The same form sent twice, also where the plan is no longer looked for."""
    key = shown(fitter_client, stuck).plans[0].key
    for _time in range(2):
        answer = fitter_client.post(reverse("review:agree", args=[stuck.pk]), {"plan": key})
        assert answer.status_code == 302
    assert FindingDecision.objects.count() == 2


@pytest.mark.parametrize(
    ("plan", "sentence"),
    [
        ("", "Choose one of the plans"),
        ("x" * 8001, "Choose one of the plans"),
        ("\x00", "Choose one of the plans"),
        ("post_slides.stuck:rider_wash", "does not fit any more"),
        ("<script>", "does not fit any more"),
        ("🚲 \u202e", "does not fit any more"),
    ],
)
def test_what_is_no_plan_is_refused_in_place(fitter_client, stuck, plan, sentence):
    """Forged or out of date: nothing is kept."""
    answer = fitter_client.post(reverse("review:agree", args=[stuck.pk]), {"plan": plan})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not FindingDecision.objects.exists()


def test_a_plan_whose_time_has_passed_is_refused(fitter_client, stuck, time_machine):
    """The page was left open over the weekend."""
    key = shown(fitter_client, stuck).plans[0].key
    time_machine.move_to(WEDNESDAY_NOON + timedelta(days=7), tick=False)
    answer = fitter_client.post(reverse("review:agree", args=[stuck.pk]), {"plan": key})
    assert answer.status_code == 422


def test_where_no_plan_fits_the_first_free_start_after_the_last_lead_time_is_offered(
    fitter_client, studio, time_machine
):
    """Seven working days from Wednesday 4 March end on Friday the 13th; one tap moves the session there."""
    time_machine.move_to(WEDNESDAY_NOON, tick=False)
    fit_session = with_a_stuck_post(studio, days=5)
    plans = shown(fitter_client, fit_session)
    assert (plans.plans, plans.ready_on) == ((), date(2026, 3, 13))
    (offer,) = plans.offers
    assert offer.start.local.date() == date(2026, 3, 13)
    text = page_of(fitter_client, fit_session)
    assert "No plan fits before this session." in text
    assert "Friday 13 March or later" in text
    basis = fitter_client.get(reverse("review:session", args=[fit_session.pk])).context["options"].basis
    start = offer.start.free.start_utc.strftime("%Y-%m-%dT%H:%MZ")
    fitter_client.post(reverse("review:slot", args=[fit_session.pk, "move"]), {"basis": basis, "start": start})
    assert FitSession.objects.get(pk=fit_session.pk).starts_at == offer.start.free.start_utc
    assert shown(fitter_client, fit_session).plans


def test_a_closure_moves_the_day_from_which_a_plan_fits(fitter_client, studio, time_machine):
    """Two closed days in between."""
    time_machine.move_to(WEDNESDAY_NOON, tick=False)
    studio.closures.create(first_day="2026-03-10", last_day="2026-03-11")
    assert shown(fitter_client, with_a_stuck_post(studio, days=5)).ready_on == date(2026, 3, 17)


def test_a_studios_own_lead_time_and_band_reach_the_triage(fitter_client, studio, time_machine):
    """A workshop next door frees it in two days, for less."""
    time_machine.move_to(WEDNESDAY_NOON, tick=False)
    terms = {"workshop_frees_post": {"lead_days": 2, "cost": "low"}}
    amounts = {"low_from": 20, "low_to": 50, "middle_from": 50, "middle_to": 90, "high_from": 120, "high_to": 250}
    RemedyCosts.objects.create(studio=studio, terms=terms, **amounts)
    fit_session = with_a_stuck_post(studio, days=5)
    assert slot_of(fit_session.pre_visit_id).slot.terms.remedies["workshop_frees_post"].lead_days == 2
    (plan, *_others) = shown(fitter_client, fit_session).plans
    assert plan.cost == "usually 20–50 GBP (an estimate)"


def test_agreeing_takes_few_queries(stuck, fitter_user, django_assert_max_num_queries):
    """However many findings."""
    key = "post_slides.stuck:workshop_frees_post seat_bolts.corroded:rider_clean_hex"
    with django_assert_max_num_queries(30):
        agree_on_plan(fit_session=stuck, key=key, by=fitter_user)
