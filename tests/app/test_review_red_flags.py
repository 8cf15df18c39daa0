"""Red flags come first: they are read and noted before a session can be confirmed, and lifted only by a clinician's word."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse

from intake.models import CheckAnswer, RedFlagNote
from intake.selectors.red_flags import open_flags
from intake.triage.answers import Ruling
from sessions.diary.errors import MoveNotAllowedError
from sessions.diary.states import SessionState, can_move
from sessions.models import FitSession, StateChange
from sessions.services.bench.records import begin_record
from sessions.services.booking.errors import RedFlagsUnreadError
from sessions.services.booking.history import GOES_AHEAD, change_state
from sessions.services.review.decisions import (
    NothingToAcknowledgeError,
    SessionOverError,
    acknowledge_red_flags,
    confirm_session,
    rule_on_finding,
)
from tests.reviewing import all_answered, answered

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
HTMX = {"HX-Request": "true"}
AGREED = "Rang her: she sees her doctor on Wednesday."
NUMB, SEVERAL = "red_flags_clinician.numb_weak", "red_flags_clinician.several"


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def flagged(fit_session):
    """A bike in order, and a rider with numbness that stays."""
    all_answered(fit_session, red_flags_clinician="numb_weak")
    return fit_session


def address(fit_session, name="session"):
    """An address of the review."""
    return reverse(f"review:{name}", args=[fit_session.pk])


def state_of(fit_session):
    """The state as it is stored."""
    return FitSession.objects.values_list("state", flat=True).get(pk=fit_session.pk)


def test_red_flags_stand_first_on_the_page(fitter_client, flagged):
    """Before verdict and slot: the rider's words, the advice, the note to write; no way to confirm."""
    html = fitter_client.get(address(flagged)).content.decode()
    assert html.index('id="red-flags"') < html.index('id="verdict"') < html.index('id="slot"')
    for text in (
        "Numbness or weakness that stays reported",
        "<q>Numbness or weakness that stays after the ride</q>",
        "Please see a doctor or physiotherapist before the session. We are not clinicians",
        "What was agreed with the rider",
        "The session can be confirmed once the red flags are read.",
        "A clinician agrees",
        "Misunderstood",
        "Decide today",
        "Speak to the rider: a clinician comes first.",
    ):
        assert text in html, text
    assert 'id="confirm"' not in html


def test_a_session_is_confirmed_only_after_the_flags_are_read(fitter_client, flagged, fitter_user):
    """Refused before, with the reason; kept afterwards with who and when."""
    response = fitter_client.post(address(flagged, "confirm"))
    assert response.status_code == 422
    assert "Read the red flags first" in response.content.decode()
    assert (state_of(flagged), StateChange.objects.count()) == ("booked", 0)
    response = fitter_client.post(address(flagged, "acknowledge"), {"note": AGREED, "seen": NUMB}, follow=True)
    html = response.content.decode()
    assert AGREED in html
    assert 'id="confirm"' in html
    note = RedFlagNote.objects.get()
    assert (note.noted_by, note.note) == (fitter_user, AGREED)
    fitter_client.post(address(flagged, "confirm"))
    change = StateChange.objects.get()
    assert (change.from_state, change.to_state, change.changed_by) == ("booked", "confirmed", fitter_user)
    assert state_of(flagged) == "confirmed"


def test_no_other_way_leads_past_the_flags(fitter_client, flagged, fitter_user):
    """The desk's own button for a caller who confirms asks for the same note."""
    state = reverse("desk_booking:state", args=[flagged.pk])
    response = fitter_client.post(state, {"to": "confirmed"}, follow=True)
    assert "Read the red flags first" in response.content.decode()
    assert state_of(flagged) == "booked"
    acknowledge_red_flags(fit_session=flagged, note=AGREED, seen={NUMB}, by=fitter_user)
    fitter_client.post(state, {"to": "confirmed"})
    assert state_of(flagged) == "confirmed"


def test_an_answer_after_the_note_has_to_be_read_again(fitter_client, flagged, fitter_user):
    """A note covers the flags that stood when it was written; the same answer sent again does not reopen it."""
    acknowledge_red_flags(fit_session=flagged, note=AGREED, seen={NUMB}, by=fitter_user)
    with time_machine.travel(NOW + timedelta(hours=1)):
        assert open_flags(flagged.pre_visit, answered(flagged, red_flags_clinician="numb_weak")) == ()
        result = answered(flagged, red_flags_clinician="several")
        assert [flag.finding.key for flag in open_flags(flagged.pre_visit, result)] == [SEVERAL]
        with pytest.raises(RedFlagsUnreadError):
            confirm_session(fit_session=flagged, by=fitter_user)
        assert "The rider has answered again since this note." in fitter_client.get(address(flagged)).content.decode()
        acknowledge_red_flags(fit_session=flagged, note="Rang again.", seen={SEVERAL}, by=fitter_user)
        assert confirm_session(fit_session=flagged, by=fitter_user).state == "confirmed"


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_flag_that_the_page_did_not_show_is_not_read_by_its_note(fitter_client, flagged, headers):
    """The rider answers while the fitter writes: the note stays in the form, and the new flag is named before it counts."""
    shown = fitter_client.get(address(flagged)).context["flag_form"]["seen"].value()
    answered(flagged, red_flags_clinician="several")
    response = fitter_client.post(address(flagged, "acknowledge"), {"note": AGREED, "seen": shown}, headers=headers)
    html = response.content.decode()
    assert response.status_code == 422
    assert "The rider has reported more since this page was loaded" in html
    assert AGREED in html
    assert RedFlagNote.objects.count() == 0
    again = {"note": AGREED, "seen": response.context["flag_form"]["seen"].value()}
    fitter_client.post(address(flagged, "acknowledge"), again, headers=headers)
    assert RedFlagNote.objects.get().note == AGREED


@pytest.mark.parametrize("ruling", [Ruling.FIXED, Ruling.NOT_A_FAULT])
def test_a_flag_is_lifted_by_a_clinicians_word(fitter_client, flagged, fitter_user, ruling):
    """The verdict speaks of the bike again and the session can be confirmed; taking the decision back raises the flag again."""
    key = NUMB
    assert not rule_on_finding(fit_session=flagged, key=key, ruling=ruling, by=fitter_user).stopped
    html = fitter_client.get(address(flagged)).content.decode()
    assert "Nothing to decide" in html
    assert 'id="confirm"' in html
    assert rule_on_finding(fit_session=flagged, key=key, ruling=None, by=fitter_user).stopped
    with pytest.raises(RedFlagsUnreadError):
        confirm_session(fit_session=flagged, by=fitter_user)


def test_the_same_note_is_kept_once(fitter_client, flagged):
    """A double tap keeps one note; another note is another."""
    for note in (AGREED, AGREED, "She rang back: all is well."):
        fitter_client.post(address(flagged, "acknowledge"), {"note": note, "seen": NUMB}, headers=HTMX)
    assert list(RedFlagNote.objects.values_list("note", flat=True)) == [AGREED, "She rang back: all is well."]


@pytest.mark.parametrize("htmx", [False, True])
@pytest.mark.parametrize("note", [None, "", "   ", "\x00", "n" * 501, "\u202e" * 600])
def test_a_note_that_cannot_be_kept_is_refused_beside_its_field(fitter_client, flagged, note, htmx):
    """Empty, too long or unreadable: a sentence, and the text is still there."""
    response = fitter_client.post(
        address(flagged, "acknowledge"), {} if note is None else {"note": note}, headers=HTMX if htmx else {}
    )
    html = response.content.decode()
    assert response.status_code == 422
    assert 'id="id_note_error"' in html
    assert 'href="#id_note"' in html
    if note and len(note) > 500:
        assert note[:100] in html
    assert RedFlagNote.objects.count() == 0


@pytest.mark.parametrize("note", ["😀 ring again", "<b>agreed</b>", "\u202eתודה", "Γιατρός την Τετάρτη"])
def test_any_words_are_kept_as_words(fitter_client, flagged, note):
    """What was agreed is shown as it was written, never run."""
    html = fitter_client.post(
        address(flagged, "acknowledge"), {"note": note, "seen": NUMB}, follow=True
    ).content.decode()
    assert RedFlagNote.objects.get().note == note
    assert "<b>agreed</b>" not in html


def test_there_is_nothing_to_acknowledge_without_a_flag(fitter_client, fit_session):
    """A replayed form of another day is refused kindly."""
    all_answered(fit_session)
    response = fitter_client.post(address(fit_session, "acknowledge"), {"note": AGREED})
    assert response.status_code == 422
    assert "There is no red flag any more." in response.content.decode()
    with pytest.raises(NothingToAcknowledgeError):
        acknowledge_red_flags(fit_session=fit_session, note=AGREED, seen=(), by=None)


def test_confirming_twice_is_confirming_once(fitter_client, fit_session):
    """One line in the history, however often the button is tapped."""
    for headers in ({}, HTMX, {}):
        assert fitter_client.post(address(fit_session, "confirm"), headers=headers).status_code in {200, 302}
    assert StateChange.objects.count() == 1
    assert state_of(fit_session) == "confirmed"


@pytest.mark.parametrize("state", ["cancelled", "done", "no_show", "held"])
def test_only_a_booked_or_moved_session_can_be_confirmed(fitter_client, fit_session, state):
    """The diary's table of moves decides; the page says why not."""
    FitSession.objects.filter(pk=fit_session.pk).update(state=state)
    response = fitter_client.post(address(fit_session, "confirm"))
    assert response.status_code == 422
    assert "A session cannot go from" in response.content.decode()
    with pytest.raises(MoveNotAllowedError):
        confirm_session(fit_session=FitSession.objects.get(pk=fit_session.pk), by=None)
    assert state_of(fit_session) == state


def test_a_moved_session_is_confirmed_again(fit_session):
    """A new time waits for a new confirmation."""
    FitSession.objects.filter(pk=fit_session.pk).update(state="moved")
    assert confirm_session(fit_session=fit_session, by=None).state == "confirmed"


def test_a_session_that_is_over_takes_no_note(flagged):
    """What was agreed afterwards belongs elsewhere."""
    FitSession.objects.filter(pk=flagged.pk).update(state="cancelled")
    with pytest.raises(SessionOverError):
        acknowledge_red_flags(fit_session=FitSession.objects.get(pk=flagged.pk), note=AGREED, seen=(), by=None)
    assert RedFlagNote.objects.count() == 0


# ── Every way on ─────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("to", sorted(GOES_AHEAD))
@pytest.mark.parametrize("state", sorted(SessionState))
def test_no_state_leads_past_an_unread_flag(flagged, state, to):
    """From every state from which the diary's table lets a session go ahead, the service itself refuses."""
    if not can_move(SessionState(state), SessionState(to)):
        pytest.skip("not a move of the diary")
    FitSession.objects.filter(pk=flagged.pk).update(state=state)
    with pytest.raises(RedFlagsUnreadError, match="Read the red flags first"):
        change_state(fit_session=FitSession.objects.get(pk=flagged.pk), to=to, by=None)
    assert state_of(flagged) == state


def test_the_bench_begins_no_session_past_an_unread_flag(fitter_client, flagged, fitter_user):
    """The fitter is told why, and begins once the note is written."""
    begin = reverse("bench:begin", args=[flagged.pk])
    html = fitter_client.post(begin, follow=True).content.decode()
    assert "Read the red flags first" in html
    assert state_of(flagged) == "booked"
    acknowledge_red_flags(fit_session=flagged, note=AGREED, seen={NUMB}, by=fitter_user)
    fitter_client.post(begin)
    assert state_of(flagged) == "under_way"


def test_a_start_taken_back_does_not_confirm_past_an_unread_flag(fitter_client, fit_session, fitter_user):
    """A flag that came up after the start is read before the session counts as confirmed again."""
    all_answered(fit_session)
    begin_record(fit_session=fit_session, by=fitter_user)
    CheckAnswer.objects.filter(check_key="red_flags_clinician").update(option="swollen")
    html = fitter_client.post(reverse("bench:take_back", args=[fit_session.pk]), follow=True).content.decode()
    assert "Read the red flags first" in html
    assert state_of(fit_session) == "under_way"


def test_the_back_room_changes_no_state(client, flagged, owner_user):
    """The owner's admin shows the state and takes none."""
    client.force_login(owner_user)
    page = reverse("admin:fit_sessions_fitsession_change", args=[flagged.pk])
    client.post(page, {"wish": "", "state": "confirmed"})
    assert state_of(flagged) == "booked"


def test_a_flag_raised_after_the_confirmation_is_unread_again(fitter_client, fit_session, fitter_user):
    """The session stays booked as it was, and the desk has to decide today."""
    all_answered(fit_session)
    confirm_session(fit_session=fit_session, by=fitter_user)
    answered(fit_session, red_flags_emergency="chest")
    html = fitter_client.get(address(fit_session)).content.decode()
    assert 'id="acknowledge"' in html
    assert "Decide today" in html
