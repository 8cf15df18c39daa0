"""The mail that a decision sends: made from the triage in plain words, edited by the fitter, sent once, kept with the decision."""

from datetime import UTC, datetime

import pytest
import time_machine
from django.conf import settings
from django.urls import reverse

from intake.models import OutgoingMail
from intake.triage.answers import Ruling
from sessions.forms.fields import utc_mark
from sessions.models import FitSession, SlotDecision
from sessions.selectors.review.page import review_page, reviewed_sessions
from sessions.services.review.decisions import rule_on_finding
from sessions.services.review.slot_decisions import Letter, keep_slot, move_slot
from tests import factories
from tests.booking import NOW, book_one
from tests.reviewing import all_answered, answered

pytestmark = pytest.mark.django_db

FREE = datetime(2026, 3, 17, 10, 0, tzinfo=UTC)
LETTER = {"subject": "About your session", "body": "See you on Tuesday.\r\n\r\nMarit", "writes": "1"}


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def booked(studio):
    """Tuesday 10 March at ten; the booking's own mail is out of the way."""
    fit_session = book_one(studio.services.get()).fit_session
    OutgoingMail.objects.all().delete()
    return fit_session


def slot(fit_session, choice):
    """Where a choice about the slot is made."""
    return reverse("review:slot", args=[fit_session.pk, choice])


def drafted(browser, fit_session, choice, **query):
    """The text that waits to be edited."""
    form = browser.get(slot(fit_session, choice), query).context["form"]
    return form.initial.get("body") or form.initial.get("message")


def test_keeping_says_what_to_put_right_bring_and_expect(fitter_client, fitter_user, booked):
    """Each finding with its last day, what to bring, what the studio does, the cautions, the private page."""
    all_answered(booked, lever_match="height", cleat_wear="at_marker", post_slides="stiff")
    rule_on_finding(fit_session=booked, key="lever_match.differ", ruling=Ruling.STUDIO, by=fitter_user)
    text = drafted(fitter_client, booked, "keep")
    link = booked.pre_visit.links.get()
    for expected in (
        "Dear Ilse Kvalheim,",
        "Your session (Full fit, Blue road bike) stays as it is: Tuesday 10 March 2026, 10:00.",
        "- Seatpost moves only with force: start by Monday 9 March",
        "  Wipe the post and the inside of the frame, and put it back at your mark",
        "Please bring:\n- New cleats of the same system",
        "We do this in the session:\n- Levers at different heights",
        "with a torque tool",
        settings.SITE_URL + reverse("check:advice", args=[link.token]),
        booked.studio.name,
    ):
        assert expected in text, expected
    assert "\n\n\n" not in text


def test_asking_names_what_decides_it_first(fitter_client, booked):
    """The questions that the verdict waits for, then how many more, and the address under which to answer."""
    text = drafted(fitter_client, booked, "ask_rider")
    result = answered(booked)
    for key in ("red_flags_emergency", "red_flags_clinician"):
        assert next(check.question for check in result.asked if check.key == key) in text
    assert text.count("\n- ") == 5
    assert f"And {len(result.unknowns) - 5} more, if you can." in text
    assert settings.SITE_URL + reverse("check:start", args=[booked.pre_visit.links.get().token]) in text


def test_without_an_open_link_the_letter_says_how_to_answer(fitter_client, booked):
    """A revoked link is never mailed."""
    booked.pre_visit.links.update(revoked_at=NOW)
    text = drafted(fitter_client, booked, "ask_rider")
    assert "/r/" not in text
    assert "An answer to this mail is enough." in text


@pytest.mark.parametrize("choice", ["keep", "ask_rider"])
def test_red_flags_and_hazards_come_first_in_every_letter(fitter_client, booked, choice):
    """Nobody is told that a slot stands, or asked for more, without the advice that comes before it."""
    all_answered(booked, red_flags_emergency="chest", crash="crack")
    text = drafted(fitter_client, booked, choice)
    assert "please get medical help today" in text
    assert "ring the emergency number" in text
    assert "Do not ride this bike" in text
    assert "Please take the bike to a workshop without riding it there." in text


def test_a_move_tells_why_and_what_to_do_by_the_new_day(fitter_client, booked):
    """Too late for the tenth: the dates in the letter are those of the seventeenth."""
    all_answered(booked, post_slides="stuck")
    text = drafted(fitter_client, booked, "move", start=utc_mark(FREE))
    assert text.startswith("This is what your check of the bike shows:\n- Saddle height cannot be changed")
    assert "- Seatpost stuck in the frame: start by Friday 6 March" in text
    assert "so we have moved the session" in text


@pytest.mark.parametrize("choice", ["extend", "move"])
def test_a_bike_that_is_in_order_is_not_blamed(fitter_client, booked, choice):
    """Where the studio moves or extends for reasons of its own, the fitter finds an empty field."""
    all_answered(booked)
    assert drafted(fitter_client, booked, choice, start=utc_mark(FREE)) in {"", None}


def test_a_letter_is_sent_as_it_was_edited(fitter_client, fitter_user, booked):
    """Subject and text as typed, to the rider, kept with the decision, and the desk is told."""
    response = fitter_client.post(slot(booked, "keep"), {"basis": "0.0"} | LETTER, follow=True)
    decision = SlotDecision.objects.get()
    mail = OutgoingMail.objects.get()
    assert decision.mail == mail
    assert (mail.to, mail.subject, mail.body) == (
        booked.client.email,
        "About your session",
        "See you on Tuesday.\n\nMarit",
    )
    assert (mail.client, mail.key, decision.decided_by) == (booked.client, f"slot:{decision.pk}", fitter_user)
    html = response.content.decode()
    assert "The mail to Ilse Kvalheim is on its way." in html
    assert "with a mail to the rider" in html


def test_a_letter_after_the_tap_belongs_to_the_same_decision(fitter_client, booked):
    """Asked with one tap, written afterwards: one decision with its mail."""
    fitter_client.post(slot(booked, "ask_rider"), {"basis": "0.0"})
    page = fitter_client.get(slot(booked, "ask_rider"))
    fitter_client.post(slot(booked, "ask_rider"), {"basis": page.context["form"].initial["basis"]} | LETTER)
    assert SlotDecision.objects.get().mail == OutgoingMail.objects.get()


def test_a_letter_sent_twice_goes_once_and_another_is_another_decision(fitter_client, booked):
    """A double tap on Send; then, days later, another letter under the same choice."""
    for _tap in range(3):
        fitter_client.post(slot(booked, "ask_rider"), {"basis": "0.0"} | LETTER)
    assert (SlotDecision.objects.count(), OutgoingMail.objects.count()) == (1, 1)
    page = fitter_client.get(slot(booked, "ask_rider"))
    again = {"basis": page.context["form"].initial["basis"], "body": "Have you had time to look?"}
    fitter_client.post(slot(booked, "ask_rider"), LETTER | again)
    assert (SlotDecision.objects.count(), OutgoingMail.objects.count()) == (2, 2)


def test_words_of_the_fitter_stand_above_the_new_time(fitter_client, booked):
    """A move or more minutes send one mail: the fitter's words, the facts, the calendar file."""
    data = {"basis": "0.0", "start": utc_mark(FREE), "message": "The post needs a week at the workshop.", "writes": "1"}
    fitter_client.post(slot(booked, "move"), data)
    mail = OutgoingMail.objects.get()
    assert SlotDecision.objects.get().mail == mail
    words, time = mail.body.index("The post needs a week"), mail.body.index("Tuesday 17 March 2026, 10:00")
    assert words < time
    assert mail.attachments.count() == 1
    longer = {
        "basis": f"1.{SlotDecision.objects.get().pk}",
        "extra_min": "20",
        "message": "We want time for the levers.",
    }
    fitter_client.post(slot(booked, "extend"), longer | {"writes": "1"})
    assert "We want time for the levers." in OutgoingMail.objects.get(key__startswith="longer:").body


def test_nothing_typed_is_lost_when_a_letter_is_refused(fitter_client, owner_user, booked):
    """Another colleague was faster: the text is still there, and sent again it goes."""
    keep_slot(fit_session=booked, basis="0.0", by=owner_user)
    data = {"basis": "0.0", "start": utc_mark(FREE), "message": "Long and careful words.", "writes": "1"}
    response = fitter_client.post(slot(booked, "move"), data)
    assert response.status_code == 422
    html = response.content.decode()
    assert "has decided about this slot in the meantime" in html
    assert "Long and careful words." in html
    renewed = response.context["form"].data["basis"]
    assert fitter_client.post(slot(booked, "move"), data | {"basis": renewed}).status_code == 302
    assert FitSession.objects.get(pk=booked.pk).starts_at == FREE


def test_other_times_are_offered_by_the_studios_clock(fitter_client, booked):
    """In summer an hour off would send the rider to a locked door."""
    wanted = datetime(2026, 4, 14, 10, 7, tzinfo=UTC)  # off the grid, after the clocks have changed
    data = {"basis": "0.0", "start": utc_mark(wanted), "message": "A word.", "writes": "1"}
    response = fitter_client.post(slot(booked, "move"), data)
    offered = response.context["form"]["start"].field.widget.choices
    assert response.status_code == 422
    assert ("2026-04-14T10:00Z", "Tuesday 14 April, 11:00 BST") in offered


def test_a_taken_start_is_chosen_anew_with_the_words_kept(fitter_client, booked):
    """The page offers the starts nearest to the one that is gone."""
    for fitter, bay in zip(booked.studio.fitters.all(), booked.studio.bays.all(), strict=True):
        factories.FitSessionFactory(studio=booked.studio, fitter=fitter, bay=bay, starts_at=FREE)
    data = {"basis": "0.0", "start": utc_mark(FREE), "message": "Long and careful words.", "writes": "1"}
    response = fitter_client.post(slot(booked, "move"), data)
    html = response.content.decode()
    assert response.status_code == 422
    assert "Somebody else was a moment faster" in html
    assert 'type="radio" name="start"' in html
    assert "Long and careful words." in html


def test_a_choice_of_starts_begins_where_everything_can_be_ready(fitter_client, booked):
    """The week of the first possible day, each start a link to the letter; other weeks can be leafed to."""
    all_answered(booked, post_slides="stuck")
    page = fitter_client.get(slot(booked, "move"))
    html = page.content.decode()
    assert "can be ready from Wednesday 11 March" in html
    assert page.context["week"].days[0].day.isoformat() == "2026-03-09"
    assert f"?start={utc_mark(FREE)}" not in html
    later = fitter_client.get(slot(booked, "move"), {"week": "2026-03-17"}, headers={"HX-Request": "true"})
    html = later.content.decode()
    assert "<html" not in html
    assert slot(booked, "move") + "?start=2026-03-17T10%3A00Z" in html


@pytest.mark.parametrize(
    "query",
    [
        "start=%00",
        "start=yesterday",
        "start=0001-01-01T00:00Z",
        "start=9999-12-31T23:59Z",
        "start=2020-01-01T10:00Z",
        "week=%00",
        "week=9999-12-31",
        "week=x",
    ],
)
def test_an_address_that_names_no_start_shows_the_starts(fitter_client, booked, query):
    """A cut-off or invented link leads to the choice of starts, never to an error."""
    response = fitter_client.get(f"{slot(booked, 'move')}?{query}")
    assert response.status_code == 200
    assert "Choose a new time" in response.content.decode()


MALFORMED = [
    {"subject": "", "body": "x"},
    {"subject": "x", "body": ""},
    {"subject": "  ", "body": " \n "},
    {"subject": "x" * 251, "body": "x"},
    {"subject": "x", "body": "y" * 10_001},
    {"subject": "x\x00", "body": "x"},
    {"subject": "x", "body": "\x00"},
]


@pytest.mark.parametrize("choice", ["keep", "ask_rider"])
@pytest.mark.parametrize("data", MALFORMED, ids=lambda data: repr(data)[:40])
def test_a_letter_that_cannot_go_is_refused_beside_its_field(fitter_client, booked, choice, data):
    """Empty, too long or unreadable: nothing is decided, nothing is sent."""
    response = fitter_client.post(slot(booked, choice), {"basis": "0.0", "writes": "1"} | data)
    assert response.status_code == 422
    assert 'aria-invalid="true"' in response.content.decode()
    assert (SlotDecision.objects.count(), OutgoingMail.objects.count()) == (0, 0)


def test_a_forged_line_in_a_subject_adds_no_header(fitter_client, booked):
    """A subject is one line, whatever is posted."""
    data = {"basis": "0.0", "writes": "1", "subject": "Hello\r\nBcc: all@tarnfell.example", "body": "x"}
    fitter_client.post(slot(booked, "keep"), data)
    assert OutgoingMail.objects.get().subject == "Hello Bcc: all@tarnfell.example"


def test_any_script_goes_through(fitter_client, booked):
    """Right-to-left, emoji and markup are text in a mail."""
    body = "שלום \u202eabc 😀 <b>&amp;</b>"
    fitter_client.post(slot(booked, "keep"), {"basis": "0.0"} | LETTER | {"body": body})
    assert OutgoingMail.objects.get().body == body


def test_a_moved_mail_is_found_by_its_decision(booked, fitter_user):
    """Each decision knows its own mail, also after several moves."""
    first = move_slot(fit_session=booked, basis="0.0", start=FREE, by=fitter_user)
    later = move_slot(fit_session=booked, basis=f"1.{first.pk}", start=FREE.replace(hour=13), by=fitter_user)
    letter = keep_slot(fit_session=booked, basis=f"2.{later.pk}", letter=Letter("Yes", "It stands."), by=fitter_user)
    assert [each.mail.key for each in (first, later)] == [f"moved:{booked.uid}:1", f"moved:{booked.uid}:2"]
    assert letter.mail.key == f"slot:{letter.pk}"


def test_the_letter_costs_a_fixed_number_of_queries(fitter_client, booked, django_assert_num_queries):
    """Whatever was answered: the page reads what the session's page reads."""
    with django_assert_num_queries(27):
        fitter_client.get(slot(booked, "keep"))
    all_answered(booked, post_slides="stuck", cleat_wear="past_marker")
    with django_assert_num_queries(27):
        fitter_client.get(slot(booked, "keep"))
    assert review_page(reviewed_sessions().get(pk=booked.pk)).options is not None
