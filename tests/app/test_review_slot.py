"""Decisions about the slot: one tap each, kept once with who and when, and never on a slot that has changed meanwhile."""

from datetime import UTC, datetime, timedelta
from threading import Barrier, Thread

import pytest
import time_machine
from django.db import connection
from django.urls import reverse

from intake.models import OutgoingMail
from intake.triage.answers import Ruling
from sessions.forms.fields import utc_mark
from sessions.models import FitSession, Occupancy, SlotDecision
from sessions.selectors.booking.diary import free_extension
from sessions.selectors.review.page import review_page, reviewed_sessions
from sessions.selectors.review.slot_options import basis_of
from sessions.services.booking.errors import ExtensionError, StartNotOfferedError, StartTakenError
from sessions.services.review.decisions import rule_on_finding
from sessions.services.review.slot_decisions import (
    DecidedMeanwhileError,
    SlotSettledError,
    ask_rider,
    extend_slot,
    keep_slot,
    move_slot,
)
from tests import factories
from tests.booking import NOW, START, book_one
from tests.reviewing import all_answered

HTMX = {"HX-Request": "true"}
HOUR = timedelta(hours=1)
FREE = datetime(2026, 3, 17, 10, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def booked(studio):
    """Tuesday ten o'clock to noon, as a rider booked it; the booking's own mail is out of the way."""
    fit_session = book_one(studio.services.get()).fit_session
    OutgoingMail.objects.all().delete()
    return fit_session


def slot(fit_session, choice):
    """Where a choice about the slot is made."""
    return reverse("review:slot", args=[fit_session.pk, choice])


def now_of(fit_session):
    """The session as it is stored."""
    return FitSession.objects.get(pk=fit_session.pk)


def basis(fit_session):
    """What names the slot as it is now."""
    latest = SlotDecision.objects.filter(fit_session=fit_session).order_by("-pk").first()
    return basis_of(now_of(fit_session), latest)


def kept():
    """Every decision, as choice, minutes and person."""
    return list(SlotDecision.objects.order_by("pk").values_list("choice", "extra_min", "decided_by__username"))


# ── One tap ────────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.django_db
def test_keeping_is_noted_and_changes_nothing_else(fitter_client, fitter_user, booked):
    """Who and when; no mail, the same time, the same calendar sequence."""
    response = fitter_client.post(slot(booked, "keep"), {"basis": "0.0"})
    assert response["Location"] == reverse("review:session", args=[booked.pk]) + "#slot"
    assert kept() == [("keep", 0, fitter_user.username)]
    assert abs(SlotDecision.objects.get().decided_at - NOW) < timedelta(minutes=1)
    assert (now_of(booked).starts_at, now_of(booked).sequence) == (START, 0)
    assert not OutgoingMail.objects.exists()
    assert "Keep</strong>" in fitter_client.get(reverse("review:session", args=[booked.pk])).content.decode()


@pytest.mark.django_db
def test_asking_is_noted_and_leads_to_the_letter(fitter_client, fitter_user, booked):
    """One tap keeps the decision; the questions then wait to be edited, and nothing is sent before."""
    response = fitter_client.post(slot(booked, "ask_rider"), {"basis": "0.0"})
    assert response["Location"] == slot(booked, "ask_rider")
    assert kept() == [("ask_rider", 0, fitter_user.username)]
    assert not OutgoingMail.objects.exists()
    html = fitter_client.get(response["Location"]).content.decode()
    assert "Your decision is kept. Write to the rider, or go back." in html


@pytest.mark.django_db
def test_more_time_grows_the_slack_and_mails_the_new_end(fitter_client, fitter_user, booked):
    """Half an hour more: the end, the slack, the forecast, the rider's calendar, and one decision that knows its mail."""
    before = review_page(reviewed_sessions().get(pk=booked.pk))
    foretold = {each.extra_min: each.chance for each in before.options.extensions}[30]
    response = fitter_client.post(slot(booked, "extend"), {"basis": "0.0", "extra_min": 30}, headers=HTMX)
    assert response.status_code == 200
    after = now_of(booked)
    assert (after.ends_at, after.slack_min) == (booked.ends_at + timedelta(minutes=30), booked.slack_min + 30)
    assert kept() == [("extend", 30, fitter_user.username)]
    mail = SlotDecision.objects.get().mail
    assert (mail.to, mail.key) == (booked.client.email, f"longer:{booked.uid}:1")
    assert review_page(reviewed_sessions().get(pk=booked.pk)).chance == foretold
    assert f'<span class="num">{foretold}</span>' in response.content.decode()


@pytest.mark.django_db
def test_a_move_is_one_tap_on_a_free_start(fitter_client, fitter_user, booked):
    """The page's own buttons move the session; time, history, mail and decision say from when to when."""
    page = fitter_client.get(reverse("review:session", args=[booked.pk]))
    start = page.context["options"].starts[0].free.start_utc
    assert utc_mark(start) in page.content.decode()
    fitter_client.post(slot(booked, "move"), {"basis": "0.0", "start": utc_mark(start)})
    assert (now_of(booked).starts_at, now_of(booked).state) == (start, "moved")
    decision = SlotDecision.objects.get()
    assert (decision.choice, decision.decided_by) == ("move", fitter_user)
    assert decision.note.startswith("from Tue 10 Mar 2026 10:00 to ")
    assert decision.mail.key == f"moved:{booked.uid}:1"
    assert booked.history.get(to_state="moved").note == decision.note


@pytest.mark.django_db
def test_what_is_offered_is_what_the_day_allows(fitter_client, booked):
    """Every extension on the page fits before what follows; with less room there are fewer, and none with none."""

    def offered():
        page = review_page(reviewed_sessions().get(pk=booked.pk))
        return [each.extra_min for each in page.options.extensions]

    assert {15, 30, 45, 60} <= set(offered())
    assert max(offered()) <= free_extension(booked)
    follows = booked.ends_at + timedelta(minutes=booked.buffer_after_min + 20)
    for fitter, bay in zip(booked.studio.fitters.all(), booked.studio.bays.all(), strict=True):
        factories.FitSessionFactory(studio=booked.studio, fitter=fitter, bay=bay, starts_at=follows)
    assert offered() == [15]
    assert "+15 min" in fitter_client.get(reverse("review:session", args=[booked.pk])).content.decode()


# ── Suggested ──────────────────────────────────────────────────────────────────────────────────────────────────────────────

SUGGESTED = [
    ({}, 14, "keep"),
    ({"post_slides": "stuck"}, 14, "keep"),
    ({"post_slides": "stuck"}, 3, "move"),
    ({"crash": "fall"}, 3, "move"),
    ({"crash": "fall"}, 20, "keep"),
    ({"red_flags_clinician": "pain"}, 20, "ask_rider"),
    ({"red_flags_clinician": "pain"}, 3, "move"),
    ({"crash": "could_not"}, 20, "ask_rider"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("answers", "days", "suggested"), SUGGESTED)
def test_what_the_triage_asks_for_stands_out(fitter_client, studio, answers, days, suggested):
    """Keep while there is time, move what bars the session and is late, more time for what is only slow, ask what decides it."""
    starts_at = NOW + timedelta(days=days, hours=3)
    fit_session = factories.FitSessionFactory(studio=studio, starts_at=starts_at)
    all_answered(fit_session, **answers)
    page = fitter_client.get(reverse("review:session", args=[fit_session.pk]))
    assert page.context["options"].suggested == suggested
    main = 'class="button" id="slot-' if suggested in {"keep", "ask_rider"} else None
    if main:
        assert f"{main}{suggested}" in page.content.decode()


@pytest.mark.django_db
def test_work_that_is_planned_for_the_bench_asks_for_more_time(fit_session, fitter_user):
    """Enough minutes are suggested where the day has them, another day where it does not."""

    def options():
        return review_page(reviewed_sessions().get(pk=fit_session.pk)).options

    all_answered(fit_session, lever_match="height", post_slides="stiff")
    assert options().suggested == "keep"
    for key in ("lever_match.differ", "post_slides.forced"):
        rule_on_finding(fit_session=fit_session, key=key, ruling=Ruling.STUDIO, by=fitter_user)
    assert options().suggested == "extend"
    enough = next(each for each in options().extensions if each.is_enough)
    assert int(enough.chance.split()[0]) >= 75
    assert enough.extra_min % 5 == 0
    follows = fit_session.ends_at + timedelta(minutes=fit_session.buffer_after_min)
    factories.FitSessionFactory(
        studio=fit_session.studio, fitter=fit_session.fitter, bay=fit_session.bay, starts_at=follows
    )
    assert (options().suggested, options().extensions) == ("move", ())


# ── Kept once ──────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.django_db
@pytest.mark.parametrize("choice", ["keep", "ask_rider"])
def test_a_decision_in_force_is_not_kept_again(fitter_client, booked, choice):
    """However often it is tapped, from an old page or a new one."""
    for stand in ("0.0", "0.0", basis(booked), "0.0"):
        fitter_client.post(slot(booked, choice), {"basis": stand})
    assert len(kept()) == 1


@pytest.mark.django_db
def test_the_same_form_extends_once(fitter_client, booked):
    """A replayed tap adds no minutes and no mail; a tap on the page as it is now does."""
    for _tap in range(3):
        assert fitter_client.post(slot(booked, "extend"), {"basis": "0.0", "extra_min": 15}).status_code == 302
    assert (now_of(booked).slack_min, OutgoingMail.objects.count(), len(kept())) == (booked.slack_min + 15, 1, 1)
    fitter_client.post(slot(booked, "extend"), {"basis": basis(booked), "extra_min": 15})
    assert (now_of(booked).slack_min, OutgoingMail.objects.count(), len(kept())) == (booked.slack_min + 30, 2, 2)


@pytest.mark.django_db
def test_the_same_form_moves_once(fitter_client, booked):
    """One new time, one mail, one line in the history."""
    for _tap in range(3):
        assert fitter_client.post(slot(booked, "move"), {"basis": "0.0", "start": utc_mark(FREE)}).status_code == 302
    assert (now_of(booked).sequence, OutgoingMail.objects.count(), len(kept())) == (1, 1, 1)


@pytest.mark.django_db(transaction=True)
def test_two_taps_at_once_extend_once(studio, fitter_user):
    """The same form twice at the same moment. With real connections and real threads."""
    booked = book_one(studio.services.get()).fit_session
    together, failures = Barrier(3), []

    def tap():
        together.wait(timeout=20)
        try:
            extend_slot(fit_session=booked, basis="0.0", extra_min=15, by=fitter_user)
        except Exception as error:
            failures.append(error)
        connection.close()

    threads = [Thread(target=tap) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert failures == []
    assert now_of(booked).slack_min == booked.slack_min + 15
    assert len(kept()) == 1


# ── Meanwhile ──────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("choice", "data"), [("keep", {}), ("extend", {"extra_min": 15}), ("move", {"start": utc_mark(FREE + HOUR)})]
)
def test_a_page_that_was_left_open_decides_nothing(fitter_client, owner_user, booked, choice, data):
    """A colleague has moved the session meanwhile: the page says who, shows the slot as it is now, and nothing changes."""
    owner_user.first_name, owner_user.last_name = "Ines", "Talland"
    owner_user.save()
    move_slot(fit_session=booked, basis="0.0", start=FREE, by=owner_user)
    response = fitter_client.post(slot(booked, choice), {"basis": "0.0"} | data, headers=HTMX)
    html = response.content.decode()
    assert response.status_code == 422
    assert "Ines Talland has decided about this slot in the meantime." in html
    assert f'name="basis" value="{basis(booked)}"' in html
    assert (now_of(booked).starts_at, len(kept())) == (FREE, 1)


@pytest.mark.django_db
def test_another_change_of_the_slot_counts_too(fitter_client, fitter_user, booked):
    """A session that was moved elsewhere, without a decision, is not the one that the page showed."""
    FitSession.objects.filter(pk=booked.pk).update(sequence=3)
    with pytest.raises(DecidedMeanwhileError, match="This slot has changed in the meantime"):
        keep_slot(fit_session=booked, basis="0.0", by=fitter_user)
    keep_slot(fit_session=booked, basis="3.0", by=fitter_user)
    assert len(kept()) == 1


@pytest.mark.django_db
def test_a_start_that_was_taken_is_said_kindly_with_others(fitter_client, booked):
    """A lost race: the session stays, and the page offers what is free now."""
    for fitter, bay in zip(booked.studio.fitters.all(), booked.studio.bays.all(), strict=True):
        factories.FitSessionFactory(studio=booked.studio, fitter=fitter, bay=bay, starts_at=FREE)
    response = fitter_client.post(slot(booked, "move"), {"basis": "0.0", "start": utc_mark(FREE)})
    html = response.content.decode()
    assert response.status_code == 422
    assert "Somebody else was a moment faster" in html
    assert 'class="start" name="start"' in html
    assert utc_mark(FREE) not in html
    assert (now_of(booked).starts_at, kept()) == (START, [])


@pytest.mark.django_db
def test_more_time_than_the_day_allows_is_refused_with_what_is_possible(fitter_client, booked):
    """A later booking has taken the time after the session."""
    follows = booked.ends_at + timedelta(minutes=booked.buffer_after_min + 20)
    factories.FitSessionFactory(studio=booked.studio, fitter=booked.fitter, bay=booked.bay, starts_at=follows)
    response = fitter_client.post(slot(booked, "extend"), {"basis": "0.0", "extra_min": 30})
    assert response.status_code == 422
    assert "The session can grow by 5 to 20 minutes, in steps of five." in response.content.decode()
    assert (now_of(booked).slack_min, kept()) == (booked.slack_min, [])


@pytest.mark.django_db
@pytest.mark.parametrize("state", ["under_way", "done", "cancelled", "no_show"])
def test_what_has_begun_or_ended_is_settled(fitter_client, fitter_user, booked, state):
    """No decision about the slot, by page or by service; the pages lead back to the session."""
    FitSession.objects.filter(pk=booked.pk).update(state=state)
    for decide, given in (
        (keep_slot, {}),
        (ask_rider, {}),
        (extend_slot, {"extra_min": 15}),
        (move_slot, {"start": FREE}),
    ):
        with pytest.raises(SlotSettledError):
            decide(fit_session=booked, basis="0.0", by=fitter_user, **given)
    response = fitter_client.post(slot(booked, "keep"), {"basis": "0.0"})
    assert response.status_code == 422
    assert "The slot can no longer be changed" in response.content.decode()
    for choice in ("keep", "extend", "move", "ask_rider"):
        assert fitter_client.get(slot(booked, choice)).url == reverse("review:session", args=[booked.pk])
        written = {
            "basis": "0.0",
            "writes": "1",
            "subject": "x",
            "body": "y",
            "extra_min": "15",
            "start": utc_mark(FREE),
        }
        assert fitter_client.post(slot(booked, choice), written).status_code == 422
    assert kept() == []


@pytest.mark.django_db
def test_the_services_name_what_they_refuse(booked, fitter_user):
    """The diary's own refusals pass through, and the session stays where it was."""
    with pytest.raises(ExtensionError):
        extend_slot(fit_session=booked, basis="0.0", extra_min=7, by=fitter_user)
    with pytest.raises(StartNotOfferedError):
        move_slot(fit_session=booked, basis="0.0", start=FREE.replace(hour=3), by=fitter_user)
    factories.FitSessionFactory(
        studio=booked.studio, fitter=booked.studio.fitters.all()[0], bay=booked.bay, starts_at=FREE
    )
    other = next(fitter for fitter in booked.studio.fitters.all() if fitter.pk != booked.fitter_id)
    factories.FitSessionFactory(studio=booked.studio, fitter=other, bay=booked.studio.bays.all()[1], starts_at=FREE)
    with pytest.raises(StartTakenError):
        move_slot(fit_session=booked, basis="0.0", start=FREE, by=fitter_user)
    assert (kept(), now_of(booked).starts_at) == ([], START)
    assert Occupancy.objects.filter(fit_session=booked).count() == 27


# ── Nonsense ───────────────────────────────────────────────────────────────────────────────────────────────────────────────

MALFORMED = [
    ("keep", {}),
    ("keep", {"basis": ""}),
    ("keep", {"basis": "\x00"}),
    ("keep", {"basis": "0"}),
    ("keep", {"basis": "-1.0"}),
    ("keep", {"basis": "0.0.0"}),
    ("keep", {"basis": "9" * 400 + ".0"}),
    ("keep", {"basis": "<script>alert(1)</script>"}),
    ("ask_rider", {"basis": "٣.٣"}),
    ("extend", {"basis": "0.0"}),
    *(
        ("extend", {"basis": "0.0", "extra_min": value})
        for value in ("", "0", "-15", "7", "NaN", "1e9", "9" * 500, "\x00", "fifteen", "😀", "1000000")
    ),
    ("move", {"basis": "0.0"}),
    *(
        ("move", {"basis": "0.0", "start": value})
        for value in (
            "",
            "\x00",
            "yesterday",
            "2026-03-17",
            "2026-03-17T10:00",
            "2026-02-30T10:00Z",
            "2020-01-01T10:00Z",
            "2026-03-15T10:00Z",
            "2026-03-17T10:07Z",
            "0001-01-01T00:00Z",
            "9999-12-31T23:59Z",
            "9999-12-31T23:59-14:00",
            "x" * 5000,
            "<script>alert(1)</script>",
        )
    ),
]


@pytest.mark.django_db
@pytest.mark.parametrize("writes", [False, True])
@pytest.mark.parametrize(("choice", "data"), MALFORMED, ids=lambda value: repr(value)[:50])
def test_nonsense_is_refused_on_the_page(fitter_client, booked, choice, data, writes):
    """422 with a sentence in an error summary, by one tap and with a letter alike; nothing is kept, moved or mailed."""
    letter = {"subject": "About your session", "body": "As agreed.", "message": "As agreed.", "writes": "1"}
    response = fitter_client.post(slot(booked, choice), data | (letter if writes else {}))
    html = response.content.decode()
    assert response.status_code == 422
    assert 'class="error-summary"' in html
    assert "<script>alert" not in html
    assert "As agreed." in html or not writes
    assert (kept(), OutgoingMail.objects.count()) == ([], 0)
    assert (now_of(booked).starts_at, now_of(booked).ends_at) == (START, booked.ends_at)
