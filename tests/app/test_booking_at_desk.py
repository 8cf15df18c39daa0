"""What the desk does with a booked session while the rider is on the line: confirm, move, cancel, mark who did not come."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from intake.models import OutgoingMail
from sessions.forms.fields import utc_mark
from sessions.models import FitSession
from sessions.services.booking.moves import cancel_session
from tests import factories
from tests.booking import NOW, START, book_one

pytestmark = pytest.mark.django_db

TOMORROW = START.replace(day=11)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def booked(studio):
    """Tuesday ten o'clock to noon, as a rider booked it."""
    return book_one(studio.services.get(), wish="A quieter knee").fit_session


def url(name, fit_session):
    """The address of one of the session's pages."""
    return reverse(f"desk_booking:{name}", args=[fit_session.pk])


def fresh(fit_session):
    """The session as it is stored."""
    return FitSession.objects.get(pk=fit_session.pk)


class TestPage:
    """All that was booked."""

    def test_what_the_desk_wants_to_know(self, fitter_client, booked):
        """When, who, what, the private page and the history."""
        page = fitter_client.get(url("session", booked))
        words = ("Ilse Kvalheim", "Tuesday 10 March 2026", "10:00–12:00", "A quieter knee", "1 h 45 min", "the rider")
        for each in (*words, booked.pre_visit.links.get().get_absolute_url()):
            assertContains(page, each)

    def test_without_an_open_link(self, fitter_client, booked):
        """It says so."""
        booked.pre_visit.links.update(revoked_at=NOW)
        assertContains(fitter_client.get(url("session", booked)), "No link is open")

    def test_only_what_can_be_done_is_offered(self, fitter_client, booked):
        """A cancelled session can neither move nor be cancelled again."""
        for words in ("The rider has confirmed", "Move", "Cancel it"):
            assertContains(fitter_client.get(url("session", booked)), words)
        cancel_session(fit_session=booked, by=None)
        page = fitter_client.get(url("session", booked))
        for words in ("The rider has confirmed", "Cancel it", "Fill in the check"):
            assertNotContains(page, words)

    def test_nobody_is_missed_before_the_hour(self, fitter_client, booked, clock):
        """That the rider did not come can be said once the session should have begun."""
        assertNotContains(fitter_client.get(url("session", booked)), "did not come")
        clock.move_to(START)
        assertContains(fitter_client.get(url("session", booked)), "The rider did not come")

    def test_queries(self, fitter_client, booked, django_assert_num_queries):
        """Log-in and user, session, link, history."""
        with django_assert_num_queries(5):
            fitter_client.get(url("session", booked))


class TestState:
    """One tap."""

    @pytest.mark.parametrize("to", ["confirmed", "no_show"])
    def test_it_is_set_and_kept(self, fitter_client, fitter_user, booked, clock, to):
        """With who did it."""
        clock.move_to(START)
        assertRedirects(fitter_client.post(url("state", booked), {"to": to}), url("session", booked))
        assert fresh(booked).state == to
        assert booked.history.last().changed_by == fitter_user

    @pytest.mark.parametrize("to", ["", "done", "moved", "cancelled", "x\x00y", "9" * 500])
    def test_no_other_state(self, fitter_client, booked, to):
        """A forged state changes nothing and is said."""
        response = fitter_client.post(url("state", booked), {"to": to}, follow=True)
        assertContains(response, "not a state that the desk can set")
        assert fresh(booked).state == "booked"

    def test_nobody_has_missed_what_was_moved_meanwhile(self, fitter_client, booked, clock):
        """A page that was open before the move would otherwise give the new time away."""
        clock.move_to(START)
        FitSession.objects.update(state="moved", starts_at=TOMORROW, ends_at=TOMORROW + timedelta(hours=2))
        response = fitter_client.post(url("state", booked), {"to": "no_show"}, follow=True)
        assertContains(response, "nobody has missed it")
        assert fresh(booked).state == "moved"
        assert booked.occupancy.exists()

    def test_a_stale_page(self, fitter_client, booked):
        """What was cancelled meanwhile is not confirmed; the reason is shown."""
        cancel_session(fit_session=booked, by=None)
        response = fitter_client.post(url("state", booked), {"to": "confirmed"}, follow=True)
        assertContains(response, "cannot go from “cancelled” to “confirmed”")


class TestCancel:
    """No session after all."""

    def test_with_words_for_the_rider(self, fitter_client, fitter_user, booked):
        """The reason stays in the studio, the words go into the mail."""
        data = {"note": "Collarbone", "message": "Get well soon."}
        response = fitter_client.post(url("cancel", booked), data)
        assertRedirects(response, url("session", booked))
        assert fresh(booked).state == "cancelled"
        assert (booked.history.last().note, booked.history.last().changed_by) == ("Collarbone", fitter_user)
        mail = OutgoingMail.objects.latest("pk")
        assert "Get well soon." in mail.body
        assert "Collarbone" not in mail.body

    def test_reading_the_page_cancels_nothing(self, fitter_client, booked):
        """A link that is only opened changes nothing."""
        assertContains(fitter_client.get(url("cancel", booked)), "Words for the rider")
        assert fresh(booked).state == "booked"

    def test_twice_is_once(self, fitter_client, booked):
        """The second time it says that it is cancelled, and no second mail goes."""
        for _ in range(2):
            response = fitter_client.post(url("cancel", booked), {}, follow=True)
        assertContains(response, "cannot go from “cancelled”")
        assert OutgoingMail.objects.count() == 2

    @pytest.mark.parametrize("data", [{"note": "n" * 301}, {"message": "m" * 2001}, {"note": "x\x00y"}])
    def test_mistakes_are_said_in_place(self, fitter_client, booked, data):
        """Nothing is cancelled and nothing typed is lost."""
        page = fitter_client.post(url("cancel", booked), data)
        assert page.status_code == 422
        assert page.context["form"][next(iter(data))].value() == next(iter(data.values()))
        assert fresh(booked).state == "booked"


class TestMove:
    """Another start."""

    def test_choose_and_move(self, fitter_client, fitter_user, booked):
        """From the week to the form to the new time."""
        week = fitter_client.get(url("move", booked), {"week": "2026-03-11"})
        link = re.search(r'href="([^"]+2026-03-11T10%3A00Z)"', week.content.decode())[1]
        assertContains(fitter_client.get(link), "Wednesday 11 March 2026, 10:00")
        data = {"start": utc_mark(TOMORROW), "note": "Ill", "message": "See you then."}
        assertRedirects(fitter_client.post(url("move_to", booked), data), url("session", booked))
        assert (fresh(booked).starts_at, fresh(booked).state) == (TOMORROW, "moved")
        assert booked.history.last().changed_by == fitter_user
        assert "See you then." in OutgoingMail.objects.latest("pk").body

    def test_its_own_time_is_no_other_time(self, fitter_client, booked):
        """The present start is not offered, starts that overlap it are."""
        week = fitter_client.get(url("move", booked), {"week": "2026-03-10"}).content.decode()
        assert "2026-03-10T10%3A00Z" not in week
        assert "2026-03-10T10%3A30Z" in week

    def test_htmx_gets_the_week(self, fitter_client, booked):
        """Leafing swaps the part alone."""
        part = fitter_client.get(url("move", booked), headers={"HX-Request": "true"})
        assert part.content.decode().strip().startswith('<div id="starts"')

    def test_a_taken_start(self, fitter_client, booked):
        """It is said, other starts are offered, and the words are kept."""
        for _ in range(2):
            book_one(booked.service, TOMORROW)
        page = fitter_client.post(url("move_to", booked), {"start": utc_mark(TOMORROW), "message": "See you then."})
        assertContains(page, "Somebody else was a moment faster", status_code=422)
        assertContains(page, "See you then.", status_code=422)
        offered = re.findall(r'type="radio" name="start" value="([^"]+)"', page.content.decode())
        assert "2026-03-11T12:30Z" in offered
        assert fresh(booked).starts_at == START

    @pytest.mark.parametrize(
        "start", ["", "soon", "x\x00y", "2026-03-10T10:07Z", "0001-01-01T00:00Z", "2020-01-01T09:00Z"]
    )
    def test_a_forged_start(self, fitter_client, booked, start):
        """Refused with other starts to choose; nothing moves."""
        assert fitter_client.post(url("move_to", booked), {"start": start}).status_code == 422
        assert fresh(booked).starts_at == START

    @pytest.mark.parametrize("start", ["", "soon", "0001-01-01T00:00Z", "9999-12-31T23:59Z"])
    def test_a_malformed_link(self, fitter_client, booked, start):
        """A cut-off link leads back to the weeks."""
        response = fitter_client.get(url("move_to", booked), {"start": start})
        assertRedirects(response, url("move", booked), fetch_redirect_response=False)

    def test_what_is_cancelled_does_not_move(self, fitter_client, booked):
        """The reason is shown on the session's page."""
        cancel_session(fit_session=booked, by=None)
        response = fitter_client.post(url("move_to", booked), {"start": utc_mark(TOMORROW)}, follow=True)
        assertContains(response, "cannot go from “cancelled” to “moved”")


@pytest.mark.parametrize("name", ["session", "state", "cancel", "move", "move_to"])
def test_staff_only_and_only_what_exists(client, fitter_user, booked, name):
    """Others are sent to the log-in and change nothing; an unknown session is not found."""
    for answer in (client.get(url(name, booked)), client.post(url(name, booked), {"to": "no_show"})):
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("login"))
    assert fresh(booked).state == "booked"
    client.force_login(fitter_user)
    send = client.post if name == "state" else client.get
    assert send(reverse(f"desk_booking:{name}", args=[booked.pk + 1])).status_code == 404
    assert send(reverse(f"desk_booking:{name}", args=[10**25])).status_code == 404


def test_wrong_methods(fitter_client, booked):
    """A state is sent, weeks are read."""
    assert fitter_client.get(url("state", booked)).status_code == 405
    assert fitter_client.post(url("move", booked)).status_code == 405
    assert fitter_client.post(url("session", booked)).status_code == 405


def test_other_sessions_stay_out_of_it(fitter_client, booked):
    """Cancelling one leaves its neighbour alone."""
    other = factories.FitSessionFactory(studio=booked.studio, starts_at=TOMORROW)
    fitter_client.post(url("cancel", booked))
    assert fresh(other).state == "booked"
