"""A booked session moves, grows, is cancelled and changes its state; its time, history and invitation follow."""

from datetime import timedelta

import pytest
import time_machine
from django.conf import settings
from icalendar import Calendar

from intake.models import OutgoingMail
from sessions.diary.errors import MoveNotAllowedError
from sessions.models import Closure, FitSession, Occupancy
from sessions.selectors.booking.diary import free_extension
from sessions.services.booking.errors import ExtensionError, StartNotOfferedError, StartTakenError
from sessions.services.booking.history import change_state
from sessions.services.booking.moves import cancel_session, extend_session, move_session
from tests import factories
from tests.booking import NOW, START, book_one

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def booked(studio):
    """Tuesday ten o'clock to noon, as a rider booked it."""
    return book_one(studio.services.get()).fit_session


def quanta_of(fit_session):
    """The quanta that a session's rows hold."""
    return set(fit_session.occupancy.values_list("quantum", flat=True))


def quanta_needed(fit_session):
    """The quanta that its times and buffers say it should hold."""
    begin = fit_session.starts_at - timedelta(minutes=fit_session.buffer_before_min)
    end = fit_session.ends_at + timedelta(minutes=fit_session.buffer_after_min)
    return set(range(int(begin.timestamp()) // 300, int(end.timestamp()) // 300))


def event_of(mail):
    """The event in a mail's calendar file, and what the file does."""
    calendar = Calendar.from_ical(bytes(mail.attachments.get().content))
    return calendar.events[0], str(calendar["METHOD"])


def fresh(fit_session):
    """The session as it is stored."""
    return FitSession.objects.get(pk=fit_session.pk)


class TestMove:
    """Another start."""

    def test_time_and_rows_follow(self, booked, fitter_user):
        """The new time is taken, the old one free again, who did it is kept."""
        there = START + timedelta(days=1)
        now = move_session(fit_session=booked, new_start=there, by=fitter_user, note="Rider is ill")
        stored = fresh(booked)
        assert (stored.starts_at, stored.ends_at, stored.state) == (there, there + 2 * HOUR, "moved")
        assert (booked.starts_at, booked.state, booked.sequence) == (there, "moved", 1)
        assert quanta_of(stored) == quanta_needed(stored)
        change = stored.history.last()
        assert (change.from_state, change.to_state, change.changed_by) == ("booked", "moved", fitter_user)
        assert change.note == "Rider is ill"
        assert now == stored
        assert book_one(stored.service, START).fit_session.fitter == stored.fitter

    def test_by_less_than_its_own_length(self, booked):
        """A session does not stand in its own way."""
        move_session(fit_session=booked, new_start=START + HOUR / 2, by=None)
        assert quanta_of(booked) == quanta_needed(booked)

    def test_the_rider_gets_the_new_invitation(self, booked):
        """The same UID with a higher SEQUENCE, and the fitter's own words first."""
        move_session(fit_session=booked, new_start=START + HOUR, by=None, message="Sorry about that.")
        first, second = (event_of(mail) for mail in OutgoingMail.objects.order_by("pk"))
        assert second[0]["UID"] == first[0]["UID"]
        assert (first[0]["SEQUENCE"], second[0]["SEQUENCE"]) == (0, 1)
        assert second[0].start == START + HOUR
        assert second[1] == "REQUEST"
        body = OutgoingMail.objects.latest("pk").body
        assert body.index("Sorry about that.") < body.index("Tuesday 10 March 2026, 11:00–13:00")

    def test_fitter_and_bay_stay_where_they_can(self, booked):
        """Only where one is taken does another step in."""
        before = (booked.fitter, booked.bay)
        move_session(fit_session=booked, new_start=START + 3 * HOUR, by=None)
        assert (booked.fitter, booked.bay) == before
        factories.FitSessionFactory(studio=booked.studio, fitter=before[0], bay=before[1], starts_at=START)
        move_session(fit_session=booked, new_start=START + HOUR, by=None)
        assert booked.fitter != before[0]
        assert booked.bay != before[1]
        assert set(booked.occupancy.values_list("fitter", "bay")) == {(booked.fitter_id, booked.bay_id)}

    def test_where_nobody_is_free_it_stays(self, booked):
        """A refused move changes nothing, in the database or in the caller's hands."""
        for _ in range(2):
            book_one(booked.service, START + 3 * HOUR)
        with pytest.raises(StartTakenError):
            move_session(fit_session=booked, new_start=START + 2 * HOUR, by=None)
        assert (booked.starts_at, fresh(booked).starts_at, fresh(booked).sequence) == (START, START, 0)
        assert quanta_of(booked) == quanta_needed(booked)

    def test_only_to_a_start_of_the_studio(self, booked):
        """Off the grid and outside the hours is refused; short notice is the desk's own affair."""
        for start in (START + timedelta(minutes=7), START.replace(hour=16), NOW - HOUR):
            with pytest.raises(StartNotOfferedError):
                move_session(fit_session=booked, new_start=start, by=None)
        assert move_session(fit_session=booked, new_start=NOW + HOUR, by=None).starts_at == NOW + HOUR
        with pytest.raises(StartNotOfferedError):
            move_session(fit_session=booked, new_start=NOW + 2 * HOUR, by=None, with_notice=True)

    def test_twice_is_once(self, booked):
        """The same form sent again neither counts nor mails again."""
        for _ in range(2):
            move_session(fit_session=booked, new_start=START + HOUR, by=None)
        assert fresh(booked).sequence == 1
        assert booked.history.filter(to_state="moved").count() == 1

    def test_what_is_over_cannot_move(self, booked):
        """A cancelled session has no time to give."""
        cancel_session(fit_session=booked, by=None)
        with pytest.raises(MoveNotAllowedError):
            move_session(fit_session=booked, new_start=START + HOUR, by=None)

    def test_the_private_link_lives_on(self, booked):
        """The link's last day follows the session."""
        move_session(fit_session=booked, new_start=START + timedelta(days=20), by=None)
        until = booked.ends_at + timedelta(days=settings.RIDER_LINK_DAYS_AFTER)
        assert booked.pre_visit.links.get().expires_at == until

    def test_deadlines_follow(self, booked):
        """The triage is judged for the new day."""
        before = booked.pre_visit.summary.decision_due_on
        move_session(fit_session=booked, new_start=START + timedelta(days=20), by=None)
        booked.pre_visit.summary.refresh_from_db()
        assert booked.pre_visit.summary.decision_due_on != before

    def test_the_rider_may_still_answer(self, booked):
        """A moved session's check is as open as a booked one's."""
        from intake.slots import slot_of

        move_session(fit_session=booked, new_start=START + HOUR, by=None)
        assert slot_of(booked.pre_visit_id).changeable


class TestExtend:
    """More minutes at the end."""

    def test_until_the_doors_close(self, booked):
        """Noon and a quarter of an hour to clear up, doors at five: 285 minutes more."""
        assert free_extension(booked) == 285

    def test_until_the_next_session(self, booked):
        """The fitter's next session sets the end, and so does the bay's, though another fitter uses it."""
        other = booked.studio.fitters.exclude(pk=booked.fitter_id).get()
        factories.FitSessionFactory(studio=booked.studio, fitter=other, bay=booked.bay, starts_at=START + 4 * HOUR)
        assert free_extension(booked) == 105
        spare = factories.BayFactory(studio=booked.studio)
        factories.FitSessionFactory(
            studio=booked.studio, fitter=booked.fitter, bay=spare, starts_at=START + 3 * HOUR, buffer_before_min=20
        )
        assert free_extension(booked) == 25

    def test_not_over_the_lunch_break(self, studio):
        """Hours that end at noon end the session there, whatever opens later."""
        studio.opening_hours.filter(weekday=1).update(closes="12:30")
        studio.opening_hours.create(weekday=1, opens="13:00", closes="18:00")
        assert free_extension(book_one(studio.services.get()).fit_session) == 15

    def test_slack_end_and_rows_grow(self, booked):
        """The minutes become slack, and the database holds them."""
        extend_session(fit_session=booked, extra_min=30, by=None)
        stored = fresh(booked)
        assert (stored.slack_min, stored.ends_at, stored.sequence) == (45, START + timedelta(minutes=150), 1)
        assert (booked.slack_min, booked.ends_at) == (45, stored.ends_at)
        assert quanta_of(stored) == quanta_needed(stored)
        assert stored.state == "booked"
        event, method = event_of(OutgoingMail.objects.latest("pk"))
        assert (event.end, event["SEQUENCE"], method) == (stored.ends_at, 1, "REQUEST")
        assert "30 minutes longer" in OutgoingMail.objects.latest("pk").body

    @pytest.mark.parametrize("extra_min", [0, -15, 7, 290, 10**9])
    def test_only_what_the_day_allows(self, booked, extra_min):
        """Nothing, less than nothing, odd minutes and more than there is are refused with what is possible."""
        with pytest.raises(ExtensionError) as refused:
            extend_session(fit_session=booked, extra_min=extra_min, by=None)
        assert refused.value.possible_min == 285
        assert "285" in str(refused.value)
        assert fresh(booked).slack_min == 15

    def test_the_database_refuses_what_the_search_did_not_see(self, booked, monkeypatch):
        """Another session in the way stops it even if the search was blind, and nothing changes."""
        factories.FitSessionFactory(studio=booked.studio, starts_at=START + 2 * HOUR + timedelta(minutes=15))
        assert free_extension(booked) == 0
        monkeypatch.setattr("sessions.services.booking.moves.free_extension", lambda fit_session: 60)
        with pytest.raises(StartTakenError):
            extend_session(fit_session=booked, extra_min=30, by=None)
        assert fresh(booked).ends_at == START + 2 * HOUR
        assert quanta_of(booked) == quanta_needed(booked)

    def test_under_way_nobody_is_mailed(self, booked):
        """The rider stands in the bay."""
        change_state(fit_session=booked, to="under_way", by=None)
        extend_session(fit_session=booked, extra_min=15, by=None)
        assert OutgoingMail.objects.count() == 1

    @pytest.mark.parametrize("end", ["done", "cancelled"])
    def test_not_when_it_is_over(self, booked, end):
        """What has ended does not grow."""
        FitSession.objects.filter(pk=booked.pk).update(state=end)
        with pytest.raises(ExtensionError):
            extend_session(fit_session=booked, extra_min=15, by=None)


class TestCancel:
    """No session after all."""

    def test_the_time_is_free_again(self, booked, fitter_user):
        """No row is left, the history says who, and the start is on offer once more."""
        cancel_session(fit_session=booked, by=fitter_user, note="Broken collarbone")
        assert booked.state == fresh(booked).state == "cancelled"
        assert not Occupancy.objects.exists()
        assert (booked.history.last().changed_by, booked.history.last().note) == (fitter_user, "Broken collarbone")
        assert book_one(booked.service).fit_session.fitter == booked.fitter

    def test_the_calendar_entry_goes(self, booked):
        """METHOD CANCEL, STATUS CANCELLED, the same UID, a higher SEQUENCE (RFC 5546 section 3.2.5)."""
        cancel_session(fit_session=booked, by=None, message="Get well soon.")
        mail = OutgoingMail.objects.latest("pk")
        event, method = event_of(mail)
        assert (method, event["STATUS"], event["SEQUENCE"]) == ("CANCEL", "CANCELLED", 1)
        assert event["UID"].startswith(str(booked.uid))
        assert "Get well soon." in mail.body

    def test_twice_is_refused(self, booked):
        """The second time there is nothing to cancel, and no second mail."""
        cancel_session(fit_session=booked, by=None)
        with pytest.raises(MoveNotAllowedError):
            cancel_session(fit_session=booked, by=None)
        assert OutgoingMail.objects.count() == 2


def test_a_closure_does_not_undo_what_is_booked(booked):
    """Closing later leaves booked sessions where they are; they simply cannot grow."""
    Closure.objects.create(studio=booked.studio, first_day=START.date(), last_day=START.date())
    assert free_extension(booked) == 0
    assert quanta_of(booked) == quanta_needed(booked)
