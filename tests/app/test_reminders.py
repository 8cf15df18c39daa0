"""Three weeks of a clock: what a rider is mailed before a session, what not, and that nothing goes out twice."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection, connections
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fitstudio.upkeep import sweep
from intake.models import OutgoingMail, PreVisitCheck, Reminder
from intake.services.repairs import report_repair
from intake.services.submission import submit
from intake.slots import slot_of
from sessions.models import FitSession, OpeningHours
from sessions.services.booking.history import change_state
from sessions.services.booking.moves import cancel_session, move_session
from sessions.services.chasing.reminders import send_due_reminders
from tests import factories
from tests.booking import book_one
from tests.reviewing import all_answered, answered

NOW = datetime(2026, 2, 2, 8, 30, tzinfo=UTC)  # a Monday in winter time
START = datetime(2026, 2, 20, 10, 0, tzinfo=UTC)  # a Friday
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def clock():
    """A clock that stands until it is moved."""
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def booked(clock, studio):
    """A session eighteen days ahead."""
    return book_one(studio.services.get(), START).fit_session


def run(clock, until, *events):
    """Let the worker look once an hour; each event is a moment and what happens then."""
    waiting = sorted(events, key=lambda event: event[0])
    while (now := datetime.now(UTC)) < until:
        while waiting and waiting[0][0] <= now:
            waiting.pop(0)[1]()
        send_due_reminders()
        clock.shift(HOUR)


def sent(prefix="reminder:"):
    """Day of the month, hour and occasions of each reminder that was written, in order."""
    return [
        (mail.created_at.day, mail.created_at.hour, *(one.occasion.split(":")[0] for one in mail.reminders.all()))
        for mail in OutgoingMail.objects.filter(key__startswith=prefix).order_by("pk")
    ]


def at(day, hour):
    """A moment in February."""
    return datetime(2026, 2, day, hour, tzinfo=UTC)


@pytest.mark.django_db
class TestThreeWeeks:
    """Hour by hour from the booking to the session and beyond."""

    def test_who_says_nothing_is_asked_twice_and_reminded_twice(self, clock, booked):
        """The longest likely remedy decides how early; no mail at night, on the day of the booking, or after the session."""
        run(clock, START + 3 * DAY)
        days = sent()
        assert [kinds for _day, _hour, *kinds in days] == [["chase"], ["chase_again"], ["three_days"], ["one_day"]]
        assert all(hour == 9 for _day, hour, *_kinds in days)
        assert [day for day, *_rest in days[-2:]] == [17, 19]
        assert days[0][0] < days[1][0] <= 13

    def test_the_whole_story(self, clock, booked):
        """Some answers, a finding, its repair, another time, the end: each mail once, each in its place."""
        told = {}

        def answer_some():
            answered(booked, crash="no", brakes_wheels_tyres="fine")

        def answer_rest():
            all_answered(booked, post_slides="stuck")
            submit(pre_visit=booked.pre_visit, session_slot=slot_of(booked.pre_visit_id))

        def put_right():
            told["before"] = sent()
            report_repair(pre_visit=booked.pre_visit, finding_key="post_slides.stuck", source="rider", outcome="done")

        def move():
            move_session(fit_session=booked, new_start=START + 4 * DAY, by=None)

        def cancel():
            cancel_session(fit_session=booked, by=None)

        events = [(at(3, 19), answer_some), (at(5, 19), answer_rest), (at(11, 12), put_right)]
        events += [(at(17, 12), move), (at(23, 12), cancel)]
        run(clock, START + 10 * DAY, *events)
        assert sent() == [
            (5, 9, "chase"),
            (9, 9, "fix_soon"),
            (11, 9, "last_day"),
            (17, 9, "three_days"),
            (21, 9, "three_days"),
            (23, 9, "one_day"),
        ]
        assert told["before"] == sent()[:3]
        assert OutgoingMail.objects.count() == len(sent()) + 4  # booked, advice, moved, cancelled

    def test_nothing_is_asked_of_who_has_handed_in(self, clock, booked):
        """All in order: the two reminders alone."""
        all_answered(booked)
        submit(pre_visit=booked.pre_visit, session_slot=slot_of(booked.pre_visit_id))
        run(clock, START + DAY)
        assert sent() == [(17, 9, "three_days"), (19, 9, "one_day")]

    def test_a_studio_in_another_zone_writes_in_its_own_morning(self, clock, studio):
        """Nine in Kathmandu is a quarter past three in Greenwich."""
        studio.time_zone = "Asia/Kathmandu"
        studio.save()
        book_one(studio.services.get(), datetime(2026, 2, 20, 4, 15, tzinfo=UTC))
        run(clock, START)
        assert {hour for _day, hour, *_kinds in sent()} == {3}  # the look at 03:30 is the first in daylight

    def test_a_red_flag_stops_the_asking_for_anything_else(self, clock, booked):
        """The reminders of the time stay, and say who comes first."""
        key, option = red_flags_check_of(booked)
        answered(booked, **{key: option})
        run(clock, START)
        assert [kinds for _day, _hour, *kinds in sent()] == [["three_days"], ["one_day"]]
        assert "do not come to the session before that" in OutgoingMail.objects.order_by("pk").last().body


def red_flags_check_of(fit_session):
    """A check and an answer to it that belongs with a clinician."""
    from intake.catalogue.loader import load_catalogue

    return next(
        (check.key, option.key)
        for check in load_catalogue().checks
        for option in check.options
        for fault, share in option.faults.items()
        if share == 1 and check.fault(fault).hazard == "see_clinician" and not check.conditions
    )


@pytest.mark.django_db
@pytest.mark.parametrize("state", ["held", "under_way", "done", "cancelled", "no_show"])
def test_only_sessions_that_stand_are_reminded_of(clock, booked, state):
    """Neither a hold nor anything that has ended."""
    FitSession.objects.update(state=state)
    run(clock, START)
    assert sent() == []


@pytest.mark.django_db
def test_a_reminder_that_still_waits_does_not_go_out_after_a_cancellation(clock, booked):
    """The mail server was away; meanwhile the session is gone."""
    clock.move_to(at(17, 9))
    send_due_reminders()
    cancel_session(fit_session=booked, by=None)
    assert [mail.state for mail in OutgoingMail.objects.filter(key__startswith="reminder:")] == ["dropped"]


@pytest.mark.django_db
def test_a_studio_that_is_never_open_still_reminds(clock, booked):
    """Without opening hours it is taken to work from Monday to Friday."""
    OpeningHours.objects.all().delete()
    run(clock, START)
    assert [kinds for _day, _hour, *kinds in sent()][-2:] == [["three_days"], ["one_day"]]


@pytest.mark.django_db
def test_the_mails_say_what_to_do_by_when_and_who_can_do_it(clock, booked):
    """Short, with the private page, and how to say no."""
    all_answered(booked, post_slides="stuck")
    run(clock, START)
    soon, last, three, one = (
        mail.body for mail in OutgoingMail.objects.filter(key__startswith="reminder:").order_by("pk")
    )
    assert "begin by Wednesday 11 February" in soon
    assert "Workshop: A workshop frees the stuck post" in soon
    assert "TODAY" in last
    assert "If you cannot come, tell us now" in three
    assert booked.studio.email in three
    assert "tomorrow at 10:00" in one
    link = booked.pre_visit.links.get()
    assert all(f"/r/{link.token}/" in body and len(body) < 2500 for body in (soon, last, three, one))


@pytest.mark.django_db
def test_a_confirmed_session_is_not_asked_to_be_confirmed(clock, booked):
    """It is only reminded of."""
    change_state(fit_session=booked, to="confirmed")
    clock.move_to(at(17, 9))
    send_due_reminders()
    mail = OutgoingMail.objects.get(key__startswith="reminder:")
    assert "confirm" not in mail.subject + mail.body


@pytest.mark.django_db
def test_a_look_costs_two_queries_when_nothing_is_due_and_one_at_night(clock, booked, django_assert_num_queries):
    """The worker looks every minute."""
    send_due_reminders()
    clock.move_to(NOW + HOUR)
    send_due_reminders()
    with django_assert_num_queries(2):
        assert send_due_reminders() == 0
    clock.move_to(at(3, 3))
    with django_assert_num_queries(1):
        assert send_due_reminders() == 0


@pytest.mark.django_db
def test_a_batch_is_read_in_a_fixed_number_of_queries(clock, studio):
    """One session or twelve, as long as nothing is to be written."""

    def looked(count):
        PreVisitCheck.objects.update(reminded_until=None)
        while FitSession.objects.count() < count:
            factories.FitSessionFactory(studio=studio, starts_at=START, occupancy=False)
        with CaptureQueriesContext(connection) as captured:
            assert send_due_reminders() == 0
        return len(captured)

    clock.move_to(NOW + HOUR)
    looked(1)
    assert looked(1) == looked(12)


@pytest.mark.django_db
def test_what_is_beyond_the_batch_waits_for_the_next_look(clock, studio):
    """The soonest first, each once a day."""
    for number in range(3):
        factories.FitSessionFactory(studio=studio, starts_at=START + number * DAY, occupancy=False)
    clock.move_to(at(17, 9))
    for seen in (2, 3, 3):
        send_due_reminders(limit=2)
        assert PreVisitCheck.objects.filter(reminded_until=at(17, 9).date()).count() == seen


@pytest.mark.django_db
def test_the_sweep_reminds(clock, booked):
    """The worker's own look does it."""
    clock.move_to(at(19, 9))
    sweep()
    sweep()
    assert sent() == [(19, 9, "one_day")]


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_write_once():
    """Whoever comes second finds it done."""
    with time_machine.travel(NOW, tick=False) as clock:
        fit_session = book_one(factories.studio_with_hours().services.get(), START).fit_session
        clock.move_to(at(17, 9))
        both, faults = threading.Barrier(2), []

        def work():
            try:
                both.wait()
                send_due_reminders()
            except Exception as fault:
                faults.append(fault)
            finally:
                connections.close_all()

        workers = [threading.Thread(target=work) for _number in range(2)]
        for each in workers:
            each.start()
        for each in workers:
            each.join()
    assert faults == []
    assert OutgoingMail.objects.filter(key__startswith="reminder:").count() == 1
    assert Reminder.objects.filter(pre_visit=fit_session.pre_visit, occasion="three_days").count() == 1


@pytest.mark.django_db
class TestToRing:
    """The desk's home names who is to be rung, and no others."""

    def test_who_was_asked_twice_and_says_nothing(self, clock, booked, fitter_client):
        """From the morning after the second request, until the check is handed in."""
        run(clock, at(14, 0))
        home = reverse("desk:home")
        assert [kinds for _day, _hour, *kinds in sent()] == [["chase"], ["chase_again"]]
        assert "asked for the check twice" in fitter_client.get(home).content.decode()
        all_answered(booked)
        assert "To ring today" not in fitter_client.get(home).content.decode()

    def test_whom_a_mail_does_not_reach(self, clock, booked, fitter_client):
        """An address that does not exist; before that nobody is named."""
        home = reverse("desk:home")
        assert "To ring today" not in fitter_client.get(home).content.decode()
        OutgoingMail.objects.update(state="failed")
        html = fitter_client.get(home).content.decode()
        assert "a mail could not be delivered" in html
        assert str(booked.client.phone.as_international) in html
        FitSession.objects.update(state="cancelled")
        assert "To ring today" not in fitter_client.get(home).content.decode()
