"""The desk asks a rider for the few answers that decide: one tap, one mail, a page with just these, and how far it is."""

from html import unescape

import pytest
from django.urls import reverse

from intake.models import CheckAnswer, OutgoingMail, QuestionRequest
from intake.selectors.previsit import check_list
from intake.services.question_requests import (
    AskedMeanwhileError,
    Mail,
    NothingToAskError,
    ask_for,
)
from intake.slots import slot_of
from sessions.models import FitSession
from sessions.selectors.review.page import review_page, reviewed_sessions
from tests import factories
from tests.forms import forms_of
from tests.reviewing import all_answered

pytestmark = pytest.mark.django_db

ASKED = ["cleat_wear", "saddle_shell", "pedal_rock"]
MAIL = Mail("A few questions", "Please look.")


def address(fit_session, name="few"):
    """An address of the review."""
    return reverse(f"review:{name}", args=[fit_session.pk])


def page_of(fit_session):
    """What the review shows."""
    return review_page(reviewed_sessions().get(pk=fit_session.pk))


def ask(fit_session, keys=ASKED, seen=0, by=None):
    """Ask through the service."""
    pre_visit = fit_session.pre_visit
    return ask_for(pre_visit=pre_visit, session_slot=slot_of(pre_visit.pk), keys=keys, seen=seen, mail=MAIL, by=by)


@pytest.fixture
def rider(client, rider_link):
    """The rider's addresses."""
    return lambda page, *args: reverse(f"check:{page}", args=[rider_link.token, *args])


# ── The desk ─────────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_review_says_what_each_answer_would_change(fitter_client, fit_session):
    """At most three questions; for each, every way it can turn out, how likely, and whether the session could be held then."""
    page = page_of(fit_session)
    assert 1 <= len(page.deciding.questions) <= 3
    html = fitter_client.get(address(fit_session, "session")).content.decode()
    section = unescape(html).partition('id="few"')[2].partition("</section>")[0]
    for question in page.deciding.questions:
        assert question.title in section
        assert question.outcomes[0].what == "nothing wrong"
        for outcome in question.outcomes:
            assert f"{outcome.what}: " in section
    assert "Ask the rider just this" in section


def test_one_tap_mails_the_rider_just_these(fitter_client, fit_session, fitter_user, rider_link):
    """Who asked is kept; the mail names the questions and the page with nothing else on it, and no question is in the address."""
    shown = page_of(fit_session).deciding
    response = fitter_client.post(address(fit_session), {"keys": shown.keys, "seen": shown.seen}, follow=True)
    request = QuestionRequest.objects.get()
    assert (request.keys, request.asked_by) == (shown.keys.split(), fitter_user)
    assert request.mail.to == fit_session.client.email
    for question in shown.questions:
        assert question.title in request.mail.body
    assert reverse("check:few", args=[rider_link.token]) in request.mail.body
    html = response.content.decode()
    assert f"0 of {len(shown.questions)} answered" in html
    assert "Ask again" in html


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_the_same_tap_twice_asks_once(fitter_client, fit_session, headers):
    """One request, one mail; a further tap on the page as it is now asks again."""
    shown = page_of(fit_session).deciding
    sent = {"keys": shown.keys, "seen": shown.seen}
    for _tap in range(2):
        assert fitter_client.post(address(fit_session), sent, headers=headers).status_code in {200, 302}
    assert QuestionRequest.objects.count() == OutgoingMail.objects.count() == 1
    again = page_of(fit_session).deciding
    fitter_client.post(address(fit_session), {"keys": again.keys, "seen": again.seen}, headers=headers)
    assert QuestionRequest.objects.count() == OutgoingMail.objects.count() == 2


def test_the_mail_can_be_edited_first(fitter_client, fit_session):
    """The page holds the usual text; what is sent is what was typed."""
    (form,) = [
        each
        for each in forms_of(fitter_client.get(address(fit_session)), address(fit_session))
        if "body" in each.fields
    ]
    sent = form.filled("Please look at the cleats.\r\nThank you.")
    fitter_client.post(form.action, sent)
    mail = OutgoingMail.objects.get()
    assert (mail.subject, mail.body) == (
        "Please look at the cleats. Thank you.",
        "Please look at the cleats.\nThank you.",
    )


@pytest.mark.parametrize("field", ["subject", "body"])
@pytest.mark.parametrize("value", ["", "   ", "\x00"])
def test_an_empty_letter_is_refused_in_place(fitter_client, fit_session, field, value):
    """Nothing is sent, and the other field keeps what was typed."""
    shown = page_of(fit_session).deciding
    sent = {"keys": shown.keys, "seen": shown.seen, "subject": "One thing", "body": "Look.", "writes": "1"}
    response = fitter_client.post(address(fit_session), sent | {field: value})
    assert response.status_code == 422
    assert ("Look." if field == "subject" else "One thing") in response.content.decode()
    assert not QuestionRequest.objects.exists()


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"keys": "", "seen": "0"},
        {"keys": "crash", "seen": "-1"},
        {"keys": "crash", "seen": "x"},
        {"keys": "c" * 2000, "seen": "0"},
        {"keys": "\x00", "seen": "0"},
        {"keys": "no_such_check <script>", "seen": "0"},
        {"keys": "crash", "seen": "9" * 30},
    ],
)
@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_a_forged_request_asks_nothing(fitter_client, fit_session, sent, headers):
    """The page as it is now, with a sentence."""
    response = fitter_client.post(address(fit_session), sent, headers=headers)
    assert response.status_code == 422
    assert not QuestionRequest.objects.exists()
    assert not OutgoingMail.objects.exists()


def test_what_was_answered_meanwhile_is_not_asked(fit_session):
    """Nor what has become unnecessary; where nothing is left there is no mail."""
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="pedal_kind", option="flat")
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="saddle_shell", option="even")
    assert ask(fit_session).keys == ["pedal_rock"]
    with pytest.raises(NothingToAskError):
        ask(fit_session, ["saddle_shell", "cleat_wear"], seen=QuestionRequest.objects.get().pk)


def test_two_at_the_desk_do_not_ask_across_each_other(fit_session, fitter_user):
    """Who comes second hears of it, unless it was the same."""
    first = ask(fit_session, by=fitter_user)
    assert ask(fit_session) == first
    with pytest.raises(AskedMeanwhileError):
        ask(fit_session, ["gears"])
    assert OutgoingMail.objects.count() == 1


@pytest.mark.parametrize("state", ["cancelled", "under_way", "done", "no_show"])
def test_nobody_is_asked_about_a_session_that_is_not_coming(fitter_client, fit_session, state):
    """No mail for what was called off or is over."""
    FitSession.objects.filter(pk=fit_session.pk).update(state=state)
    response = fitter_client.post(address(fit_session), {"keys": "crash", "seen": "0"})
    assert response.status_code == 422
    assert not OutgoingMail.objects.exists()


def test_nothing_is_offered_where_nothing_is_open(fitter_client, fit_session):
    """No section, and the letter's address leads back."""
    all_answered(fit_session)
    assert 'id="few"' not in fitter_client.get(address(fit_session, "session")).content.decode()
    assert fitter_client.get(address(fit_session))["Location"] == address(fit_session, "session")


def test_the_desk_sees_how_far_it_is(fitter_client, fit_session, rider_link):
    """Two of three; what is no longer asked of the bike does not count."""
    ask(fit_session)
    for key in ASKED[:2]:
        factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key=key, option="could_not")
    assert "2 of 3 answered" in fitter_client.get(address(fit_session, "session")).content.decode()
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="pedal_kind", option="flat")
    assert "1 of 2 answered" in fitter_client.get(address(fit_session, "session")).content.decode()


# ── The rider ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_rider_answers_just_these_and_is_thanked(client, rider, fit_session, rider_link):
    """By the pages' own forms, in the desk's order; each kept as given; at the end thanks, and the advice as it is now."""
    ask(fit_session)
    html = client.get(rider("few")).content.decode()
    assert "3 questions from the studio" in html
    place, walked = rider("question", ASKED[0]) + "?way=few", []
    while "question" in place:
        (form,) = forms_of(client.get(place), place)
        walked.append(place.split("/question/")[1].split("/", maxsplit=1)[0])
        option = {"cleat_wear": "past_left"}.get(walked[-1], "could_not")
        place = client.post(form.action, form.filled("", chosen=option) | {f"{walked[-1]}-note": "Seen."})["Location"]
        assert CheckAnswer.objects.filter(check_key=walked[-1]).exists()
    assert walked == ASKED
    assert place == rider("few")
    html = client.get(place).content.decode()
    assert "Thank you" in html
    assert "Cleats worn past their marker" in html
    assert CheckAnswer.objects.count() == 3


def test_a_question_that_is_answered_is_passed_over(client, rider, fit_session):
    """Also one that was answered on another page since."""
    ask(fit_session)
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="saddle_shell", option="even")
    sent = {"cleat_wear-option": "good", "way": "few"}
    assert (
        client.post(rider("question", "cleat_wear"), sent)["Location"] == rider("question", "pedal_rock") + "?way=few"
    )
    assert "2 of 3 answered" in client.get(rider("question", "cleat_wear") + "?way=few").content.decode()


def test_back_and_on_stay_among_the_few(client, rider, fit_session):
    """Previous and next lead to what was asked, nothing else."""
    ask(fit_session)
    html = client.get(rider("question", "saddle_shell") + "?way=few").content.decode()
    assert f'rel="prev" href="{rider("question", "cleat_wear")}?way=few"' in html
    assert f'rel="next" href="{rider("question", "pedal_rock")}?way=few"' in html


def test_the_rider_meets_the_request_on_the_usual_pages(client, rider, fit_session, rider_link):
    """On the home page and on the check's start, until it is answered."""
    ask(fit_session)
    pages = [rider_link.get_absolute_url(), rider("start")]
    for page in pages:
        assert f'href="{rider("few")}"' in client.get(page).content.decode()
    for key in ASKED:
        factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key=key, option="could_not")
    for page in pages:
        assert rider("few") not in client.get(page).content.decode()


def test_without_a_request_there_is_nothing_to_show(client, rider):
    """The address leads to the whole check, and a forged way is that of the whole check, too."""
    assert client.get(rider("few"))["Location"] == rider("start")
    sent = {"gears-option": "could_not", "way": "few"}
    assert client.post(rider("question", "gears"), sent)["Location"] == rider("few")


def test_the_few_stop_at_a_red_flag(client, rider, fit_session):
    """The advice comes first here, too."""
    ask(fit_session)
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="red_flags_emergency", option="chest")
    assert "The check stops here." in client.get(rider("few")).content.decode()


def test_a_row_that_holds_nonsense_asks_nothing(client, rider, fit_session):
    """A key of another catalogue, or no list at all."""
    QuestionRequest.objects.create(pre_visit=fit_session.pre_visit, check_keys={"not": "a list"})
    QuestionRequest.objects.create(pre_visit=fit_session.pre_visit, check_keys=["retired", 3])
    assert client.get(rider("few"))["Location"] == rider("start")


def test_the_few_are_among_the_steps(fit_session):
    """What the desk asks for is what the rider's own list holds."""
    listed = check_list(fit_session.pre_visit, slot_of(fit_session.pre_visit_id))
    keys = {step.key for step in listed.steps}
    assert {question.key for question in page_of(fit_session).deciding.questions} <= keys
