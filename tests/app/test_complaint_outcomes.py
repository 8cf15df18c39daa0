"""After a repair the rider is asked whether what hurt has changed; where it has, the desk sees that less may be needed."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.urls import reverse

from intake.models import ComplaintOutcome, Discomfort, OutgoingMail
from intake.selectors.outcomes import after_repairs
from intake.selectors.previsit import check_list
from intake.services.repairs import report_repair
from intake.slots import slot_of
from intake.triage.answers import Ruling
from intake.triage.outcomes import went
from sessions.models import FitSession
from sessions.services.chasing.reminders import send_due_reminders
from sessions.services.review.decisions import rule_on_finding
from tests import factories
from tests.forms import forms_of

pytestmark = pytest.mark.django_db

ROCKS = "pedal_rock.rocks"
HTMX = {"HX-Request": "true"}


@pytest.fixture
def sore(fit_session, rider_link):
    """A left knee that hurts, and a left pedal that rocks."""
    pre_visit = fit_session.pre_visit
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="pedal_rock", option="rocks_left")
    factories.DiscomfortFactory(pre_visit=pre_visit, area="knee_front", side="left", score=6)
    return fit_session


@pytest.fixture
def fixed(sore, fitter_user):
    """The pedal has been put right."""
    rule_on_finding(fit_session=sore, key=ROCKS, ruling=Ruling.FIXED, by=fitter_user)
    return sore


@pytest.fixture
def rider(rider_link):
    """The rider's addresses."""
    return lambda page="outcome", *args: reverse(f"check:{page}", args=[rider_link.token, *(args or WHERE[page])])


WHERE = {"outcome": ["knee_front-left"], "outcomes": [], "start": [], "advice": []}


def after(fit_session):
    """What is asked about now."""
    given = check_list(fit_session.pre_visit, slot_of(fit_session.pre_visit_id)).given
    return after_repairs(fit_session.pre_visit, given)


def review(fit_session, name="session"):
    """An address of the review."""
    return reverse(f"review:{name}", args=[fit_session.pk])


def words(response):
    """A page as one reads it."""
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


# ── When it is asked ─────────────────────────────────────────────────────────────────────────────────────────────────────


def test_nothing_is_asked_before_the_repair(client, sore, rider):
    """The page says so, and the place has none."""
    assert after(sore) == ()
    assert "Nothing to ask at the moment." in words(client.get(rider("outcomes")))
    assert client.get(rider()).status_code == 404


def test_after_the_repair_the_home_page_asks(client, fixed, rider, rider_link):
    """Ruled fixed at the desk: the rider is led to the question."""
    (place,) = after(fixed)
    assert (place.key, place.is_due, place.repaired[0].title) == (
        "knee_front-left",
        True,
        "Pedal rocks on its axle, left",
    )
    assert f'href="{rider("outcomes")}"' in client.get(rider_link.get_absolute_url()).content.decode()


@pytest.mark.parametrize("source", ["rider", "workshop"])
def test_a_report_that_it_is_done_asks_as_well(sore, source):
    """Nobody has to rule first."""
    report_repair(pre_visit=sore.pre_visit, finding_key=ROCKS, source=source, outcome="done")
    assert [place.is_due for place in after(sore)] == [True]


def test_taken_back_it_is_asked_no_more(fixed, fitter_user):
    """The repair was not so."""
    rule_on_finding(fit_session=fixed, key=ROCKS, ruling=None, by=fitter_user)
    assert after(fixed) == ()


def test_the_other_knee_is_not_asked_about(sore, fitter_user):
    """The left pedal, the right knee."""
    Discomfort.objects.update(side="right")
    rule_on_finding(fit_session=sore, key=ROCKS, ruling=Ruling.FIXED, by=fitter_user)
    assert after(sore) == ()


# ── What is said ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_answer_is_kept_with_what_was_before(client, fixed, rider):
    """By the page's own form; thanked, and asked no more."""
    (form,) = forms_of(client.get(rider()), rider())
    answer = client.post(form.action, {"rode": "yes", "score_now": "1"}, follow=True)
    assert "Thank you. The studio sees it." in words(answer)
    row = ComplaintOutcome.objects.get()
    kept = (row.area, row.side, row.finding_key, row.rode, row.score_before, row.score_now)
    assert kept == ("knee_front", "left", ROCKS, True, 6, 1)
    assert [place.is_due for place in after(fixed)] == [False]


def test_before_a_ride_it_is_asked_again(client, fixed, rider):
    """Noted, and still due."""
    client.post(rider(), {"rode": "no", "score_now": "3"})
    assert ComplaintOutcome.objects.get().score_now is None
    assert [place.is_due for place in after(fixed)] == [True]
    client.post(rider(), {"rode": "yes", "score_now": "3"})
    assert [row.score_now for row in ComplaintOutcome.objects.all()] == [None, 3]


def test_the_same_said_twice_is_kept_once(client, fixed, rider):
    """Another number is another row; the latest counts."""
    for score in ("2", "2", "5"):
        client.post(rider(), {"rode": "yes", "score_now": score})
    assert [row.score_now for row in ComplaintOutcome.objects.all()] == [2, 5]
    assert not after(fixed)[0].went


def test_a_further_repair_asks_again(client, fixed, rider, fitter_user):
    """The cleats are renewed as well: the knee is worth asking about once more."""
    client.post(rider(), {"rode": "yes", "score_now": "4"})
    factories.CheckAnswerFactory(pre_visit=fixed.pre_visit, check_key="cleat_wear", option="past_left")
    rule_on_finding(fit_session=fixed, key="cleat_wear.past_marker", ruling=Ruling.FIXED, by=fitter_user)
    (place,) = after(fixed)
    assert place.is_due
    assert {pair.key for pair in place.repaired} == {ROCKS, "cleat_wear.past_marker"}


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"rode": "yes"},
        {"rode": "yes", "score_now": "11"},
        {"rode": "yes", "score_now": "-1"},
        {"rode": "yes", "score_now": "banana"},
        {"rode": "perhaps", "score_now": "3"},
        {"rode": "<script>", "score_now": "\x00"},
        {"score_now": "3"},
        {"rode": "😀" * 300, "score_now": "3"},
    ],
)
def test_what_cannot_be_meant_is_refused_beside_its_field(client, fixed, rider, sent):
    """A sentence, the rest stays chosen, nothing is stored."""
    response = client.post(rider(), sent)
    html = response.content.decode()
    assert response.status_code == 422
    assert "id_rode_error" in html or "id_score_now_error" in html
    if sent.get("score_now") == "3":
        assert re.search(r'value="3"[^>]*checked', html)
    assert not ComplaintOutcome.objects.exists()


@pytest.mark.parametrize("key", ["knee_front", "knee_front-right", "neck", "retired-left"])
def test_a_forged_place_is_not_found(client, fixed, rider, key):
    """Only what was put right beside a complaint is asked about."""
    assert client.post(rider("outcome", key), {"rode": "yes", "score_now": "0"}).status_code == 404


def test_once_the_session_begins_the_fitter_asks(client, fixed, rider):
    """The page no longer takes it."""
    FitSession.objects.update(state="under_way")
    assert client.post(rider(), {"rode": "yes", "score_now": "0"}).status_code == 409
    assert not ComplaintOutcome.objects.exists()


@pytest.mark.parametrize(
    "wrong",
    [
        {"score_before": 11},
        {"score_now": 11},
        {"score_now": None},
        {"rode": False},
        {"side": "up"},
    ],
)
def test_the_database_keeps_only_what_can_be_so(fit_session, wrong):
    """Scores of the scale; a number after a ride and only then; a side that exists."""
    sound = {
        "area": "knee_front",
        "side": "left",
        "finding_key": ROCKS,
        "rode": True,
        "score_before": 6,
        "score_now": 1,
    }
    fit_session.pre_visit.outcomes.create(**sound)
    with pytest.raises(IntegrityError), transaction.atomic():
        fit_session.pre_visit.outcomes.create(**(sound | wrong))


def test_asking_costs_one_query_and_only_after_a_repair(sore, fitter_user, django_assert_num_queries):
    """Most riders are not asked at all."""
    given = check_list(sore.pre_visit, slot_of(sore.pre_visit_id)).given
    with django_assert_num_queries(0):
        after_repairs(sore.pre_visit, given)
    rule_on_finding(fit_session=sore, key=ROCKS, ruling=Ruling.FIXED, by=fitter_user)
    given = check_list(sore.pre_visit, slot_of(sore.pre_visit_id)).given
    with django_assert_num_queries(1):
        after_repairs(sore.pre_visit, given)


# ── What the desk sees ───────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def eased(client, fixed, rider):
    """The knee has almost gone."""
    factories.ServiceFactory(studio=fixed.studio, name="Cleats only", planned_min=30, slack_min=10)
    client.post(rider(), {"rode": "yes", "score_now": "1"})
    return fixed


def test_the_desk_sees_that_less_may_be_needed(fitter_client, eased):
    """Before and after, what was put right, the shorter services with their minutes, and how little that proves."""
    text = words(fitter_client.get(review(eased)))
    for said in (
        "Knee, front, left: 6, now 1 of 10",
        "put right: Pedal rocks on its axle, left",
        "the fit may not be needed as planned",
        "Cleats only (40 min)",
        "Farrar et al. 2001",
        "proves nothing",
        "Offer to change or cancel",
    ):
        assert said in text, said


def test_one_point_less_is_no_change(fitter_client, client, fixed, rider):
    """6 to 5: neither two points nor 30 %."""
    client.post(rider(), {"rode": "yes", "score_now": "5"})
    assert "has eased since a repair" not in words(fitter_client.get(review(fixed)))


def test_something_else_still_hurts(fitter_client, eased):
    """Then the fit is not said to be unneeded."""
    factories.DiscomfortFactory(pre_visit=eased.pre_visit, area="neck", score=5)
    text = words(fitter_client.get(review(eased)))
    assert "Something else still hurts" in text
    assert "may not be needed as planned" not in text


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_one_tap_offers_and_changes_nothing(fitter_client, eased, headers):
    """Twice tapped, one mail: keep, a shorter service, another day, or cancel; the session stays as it is."""
    for _tap in range(2):
        assert fitter_client.post(review(eased, "offer"), headers=headers).status_code in {200, 302}
    mail = OutgoingMail.objects.get()
    for said in (
        "Knee, front, left: 6 of 10 before, 1 now",
        "Cleats only, 40 minutes",
        "cancel it",
        "we expect you as agreed",
    ):
        assert said in mail.body, said
    assert FitSession.objects.get(pk=eased.pk).state == "booked"
    assert "The rider was offered to change or cancel on" in words(fitter_client.get(review(eased)))


def test_the_offer_can_be_edited(fitter_client, eased):
    """What was typed is what is sent; an empty text is refused in place."""
    (form,) = [
        each
        for each in forms_of(fitter_client.get(review(eased, "offer")), review(eased, "offer"))
        if "body" in each.fields
    ]
    sent = form.filled("Shall we do the cleats only?")
    assert fitter_client.post(form.action, sent | {"body": " "}).status_code == 422
    fitter_client.post(form.action, sent)
    assert OutgoingMail.objects.get().body == "Shall we do the cleats only?"


@pytest.mark.parametrize("state", ["cancelled", "done", "under_way"])
def test_nothing_is_offered_for_what_is_not_coming(fitter_client, eased, state):
    """No mail."""
    FitSession.objects.update(state=state)
    assert fitter_client.post(review(eased, "offer")).status_code == 422
    assert not OutgoingMail.objects.exists()


def test_nothing_is_offered_where_nothing_has_eased(fitter_client, fixed):
    """A replayed form of another day."""
    assert fitter_client.post(review(fixed, "offer")).status_code == 422
    assert fitter_client.get(review(fixed, "offer"))["Location"] == review(fixed)
    assert not OutgoingMail.objects.exists()


@pytest.mark.parametrize(("before", "now"), [(before, now) for before in (1, 3, 4, 6, 10) for now in range(before + 1)])
def test_the_list_marks_it_by_the_same_rule(fitter_client, fixed, before, now):
    """The database's rule is the core's, at every score; only the last word counts."""
    said = {"area": "knee_front", "side": "left", "finding_key": ROCKS, "rode": True, "score_before": before}
    fixed.pre_visit.outcomes.create(**said, score_now=0)
    fixed.pre_visit.outcomes.create(**said, score_now=now)
    html = fitter_client.get(reverse("review:list"), {"show": "all"}).content.decode()
    assert ("a complaint has eased" in html) == went(before, now)


def test_a_reminder_asks_once_the_bike_is_put_right(fixed, rider):
    """A line in the mail of three days before, with the page to say it on."""
    then = (fixed.starts_at - timedelta(days=3)).replace(hour=12)
    with time_machine.travel(then):
        send_due_reminders(then)
    mail = OutgoingMail.objects.get(key__startswith="reminder:")
    assert "say on this page whether it has changed" in mail.body
    assert "- Knee, front, left" in mail.body
    assert rider("outcomes") in mail.body


# ── Words ────────────────────────────────────────────────────────────────────────────────────────────────────────────────

CLAIMS = re.compile(
    r"caused by|because of your|is the cause|cause of your|due to your|diagnos(?!is)|you have a\b|suffer from|will cure|will heal",
    re.IGNORECASE,
)


def test_no_page_claims_a_cause(client, fitter_client, eased, rider, rider_link):
    """Suspects are possibilities on every page and in every mail: no cause, no diagnosis, no promise."""
    factories.CheckAnswerFactory(pre_visit=eased.pre_visit, check_key="saddle_shell", option="sunk_left")
    factories.DiscomfortFactory(pre_visit=eased.pre_visit, area="lower_back", side="both", score=7)
    fitter_client.post(review(eased, "offer"))
    pages = [rider_link.get_absolute_url(), rider(), rider("outcomes"), rider("advice"), rider("start")]
    texts = [words(client.get(page)) for page in pages]
    texts += [words(fitter_client.get(review(eased))), words(fitter_client.get(review(eased, "offer")))]
    texts += [mail.body for mail in OutgoingMail.objects.all()]
    assert all(len(text) > 100 for text in texts)
    assert [claim for text in texts for claim in CLAIMS.findall(text)] == []
    assert "worth ruling out first" in texts[3].lower()
    assert "That is a possibility, not a cause and not a diagnosis" in texts[3]


def test_the_fitter_reads_evidence_and_source(fitter_client, sore):
    """In small print beside the suspect; the rider reads neither."""
    text = words(fitter_client.get(review(sore)))
    assert "common practice Common practice, no source: a pedal that rocks tilts the foot" in text
    assert "Johnston et al. 2017" in text
