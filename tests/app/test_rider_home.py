"""The rider's private page: where the session stands and the one thing to do next; and its calendar file."""

from datetime import timedelta
from io import BytesIO

import pytest
import time_machine
from django.urls import reverse
from django.utils.formats import date_format
from icalendar import Calendar
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import COULD_NOT
from intake.edge.words import COULD_NOT_LABEL
from intake.models import CheckAnswer, RiderLink
from intake.selectors.paper import paper_check
from sessions.models import FitRecord, FitSession
from sessions.selectors.booking.paper_form import paper_form_of
from sessions.services.booking.moves import cancel_session, move_session
from tests import factories
from tests.booking import NOW, START, book_one

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026; a test may move it."""
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def booked(studio):
    """Tuesday in three weeks, ten o'clock to noon."""
    return book_one(studio.services.get(), START + timedelta(days=14), wish="A quieter knee").fit_session


@pytest.fixture
def link(booked):
    """The link in the confirmation."""
    return booked.pre_visit.links.get()


def page(client, link, name="home"):
    """One of the rider's pages."""
    return client.get(reverse(f"rider:{name}", args=[link.token]))


def fine(check):
    """The answer that means no fault."""
    return next(option.key for option in check.options if not option.faults)


class TestBefore:
    """The session is to come."""

    def test_the_facts(self, client, link):
        """When, where, what, which bike, with whom, and how to reach the studio."""
        words = (
            "Tuesday 24 March 2026",
            "10:00–12:00",
            "Europe/London",
            "Full fit",
            "Blue road bike",
            "A quieter knee",
        )
        for each in (*words, "1 Millrace Yard", "mailto:studio@wrenfield.example", "To move or cancel"):
            assertContains(page(client, link), each)

    def test_the_check_is_next(self, client, link):
        """One big action, how long it takes, by which day, and what not to ride."""
        home = page(client, link)
        assertContains(home, "Start the check")
        assertContains(home, reverse("check:start", args=[link.token]))
        assertContains(home, "All of it takes about")
        assertContains(home, "Tuesday 10 March")
        assertContains(home, "until a qualified mechanic has inspected it")

    def test_too_late_for_the_slowest_remedy(self, client, link, clock):
        """No day in the past is asked for."""
        clock.move_to(START + timedelta(days=10))
        assertContains(page(client, link), "as soon as you can")

    def test_half_way(self, client, link):
        """What is done is counted, and it goes on from there."""
        factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key="crash", option="no")
        home = page(client, link)
        assertContains(home, "Go on with the check")
        assertContains(home, "<progress")

    def test_handed_in(self, client, link):
        """With nothing to do and much left open, the check is next; the advice stays one tap away."""
        link.pre_visit.submitted_at = NOW
        link.pre_visit.save()
        home = page(client, link)
        assertContains(home, reverse("check:advice", args=[link.token]))
        assertContains(home, "Nothing to put right so far.")
        assertContains(home, "Go on with the check")

    def answer(self, link, **options):
        """Store answers and hand them in."""
        for key, option in options.items():
            factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key=key, option=option)
        link.pre_visit.submitted_at = NOW
        link.pre_visit.save()

    def test_what_to_put_right_stands_here_with_its_day(self, client, link):
        """A stuck post is named with the day that the advice page gives."""
        self.answer(link, post_slides="stuck")
        home = page(client, link)
        by = client.get(reverse("check:advice", args=[link.token])).context["advice"].tasks[0].by
        assertContains(home, "Next: one thing to put right")
        assertContains(home, f"start by {date_format(by, 'l j F')}")
        assertContains(home, "questions are still open")

    def test_what_comes_too_late_is_to_be_told_now(self, client, link, clock):
        """No day in the past is named."""
        self.answer(link, post_slides="stuck")
        clock.move_to(START + timedelta(days=13))
        home = page(client, link)
        assertContains(home, "talk to the studio now")
        assertNotContains(home, "start by")

    def test_a_crack_is_said_first(self, client, link):
        """Not only behind a link: before anything else, and before the check is handed in."""
        factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key="crash", option="crack")
        html = page(client, link).content.decode()
        assert html.index("Do not ride this bike") < html.index("Go on with the check")

    def test_a_red_flag_is_said_first(self, client, link):
        """A sign that belongs with a doctor stands over everything, and the bike waits until the studio has read it."""
        self.answer(link, red_flags_clinician="pain")
        html = page(client, link).content.decode()
        assert html.index("See a doctor or physiotherapist first") < html.index("The bike can wait")
        assert "What to do before the session" not in html
        link.pre_visit.red_flag_notes.create(note="Rang: he sees his doctor first.")
        html = page(client, link).content.decode()
        assert html.index("See a doctor or physiotherapist first") < html.index("What to do before the session")

    def test_what_to_bring(self, client, link):
        """Nothing to put right, something to pack."""
        self.answer(link, bring="no_kit")
        home = page(client, link)
        assertContains(home, "Next: pack what to bring")
        assertContains(home, "Bring along: Riding shorts, insoles, earlier fit sheet.")

    def test_nothing_to_do(self, client, link):
        """Ready is only who has left nothing open; what was said as far as it goes is said in either case."""
        self.answer(link, crash="no")
        few = page(client, link)
        assertNotContains(few, "the bike is ready")
        assertContains(few, "questions are still open")
        assertNotContains(few, "You are ready")
        rest = {check.key: fine(check) for check in load_catalogue().checks if check.key not in ("crash", "gears")}
        factories.DiscomfortFactory(pre_visit=link.pre_visit, score=2)
        self.answer(link, **rest, gears=COULD_NOT)
        given_up = page(client, link)
        assertNotContains(given_up, "still open")
        assertNotContains(given_up, "ready")
        CheckAnswer.objects.filter(check_key="gears").update(option=fine(load_catalogue().check("gears")))
        ready = page(client, link)
        assertContains(ready, "You are ready")
        assertContains(ready, "As far as your answers go, the bike is ready")

    def test_everything_answered_but_not_handed_in(self, client, booked, link):
        """The next step is to hand it in, not to go on."""
        for check in load_catalogue().checks:
            factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key=check.key, option=COULD_NOT)
        factories.DiscomfortFactory(pre_visit=link.pre_visit, score=2)
        home = page(client, link)
        assertContains(home, "Next: hand it in")
        assertContains(home, reverse("check:finish", args=[link.token]))
        assertNotContains(home, "Go on with the check")

    def test_confirmed(self, client, booked, link):
        """The rider sees that the studio knows."""
        FitSession.objects.update(state="confirmed")
        assertContains(page(client, link), '<span class="state">confirmed</span>')

    def test_moved(self, client, booked, link):
        """The new time is marked as new."""
        move_session(fit_session=booked, new_start=START + timedelta(days=15), by=None)
        home = page(client, link)
        assertContains(home, "Wednesday 25 March 2026")
        assertContains(home, "new time")
        assertContains(home, "Start the check")

    def test_summer_time(self, client, booked, link):
        """A session after the clocks change is shown as the wall clock will show it."""
        move_session(fit_session=booked, new_start=(START + timedelta(days=21)).replace(hour=8), by=None)
        assertContains(page(client, link), "09:00–11:00")

    def test_queries(self, client, link, django_assert_num_queries):
        """Link, session, four for check and slot each, one each for what was learned and asked: no answer changes the number."""
        with django_assert_num_queries(12):
            page(client, link)
        factories.CheckAnswerFactory(pre_visit=link.pre_visit, check_key="crash", option="no")
        factories.DiscomfortFactory(pre_visit=link.pre_visit)
        with django_assert_num_queries(12):
            page(client, link)


class TestAfterwards:
    """The time has come, or is over."""

    def test_under_way(self, client, booked, link):
        """The check is closed; the fit sheet is announced."""
        FitSession.objects.update(state="under_way")
        home = page(client, link)
        assertContains(home, "Your session is under way")
        assertNotContains(home, "Start the check")

    def test_the_hour_has_come(self, client, link, clock):
        """Nobody has pressed a button yet, and the answers are closed all the same."""
        clock.move_to(START + timedelta(days=14, minutes=1))
        assertContains(page(client, link), "The time of your session has come")

    def test_the_sheet_is_being_written(self, client, link):
        """Done, but not closed."""
        FitSession.objects.update(state="done")
        assertContains(page(client, link), "still writing it")

    def test_the_fit_sheet(self, client, booked, link):
        """Closed: both forms of the sheet, and the next visit."""
        FitSession.objects.update(state="done")
        record = factories.FitRecordFactory(fit_session=booked, follow_up_on="2026-05-05")
        FitRecord.objects.filter(pk=record.pk).update(closed_at=NOW)
        home = page(client, link)
        for name in ("rider:fit_sheet", "rider:fit_sheet_pdf"):
            assertContains(home, reverse(name, args=[link.token]))
        assertContains(home, "Tuesday 5 May 2026")

    def test_cancelled(self, client, booked, link):
        """It is said, and another can be booked."""
        cancel_session(fit_session=booked, by=None)
        home = page(client, link)
        assertContains(home, "This session is cancelled")
        assertContains(home, 'href="/"')
        assertNotContains(home, "Start the check")

    def test_missed(self, client, booked, link):
        """No reproach, an address."""
        FitSession.objects.update(state="no_show")
        assertContains(page(client, link), "We did not see you")


class TestInvitation:
    """The calendar file behind the link."""

    def test_it_is_the_session(self, client, booked, link):
        """Published, with the UID and SEQUENCE of the mails, in the studio's own words."""
        response = page(client, link, "invitation")
        assert response["Content-Type"] == "text/calendar; charset=utf-8; method=PUBLISH"
        assert response["Content-Disposition"] == 'attachment; filename="session-2026-03-24.ics"'
        event = Calendar.from_ical(response.content).events[0]
        assert event["UID"] == f"{booked.uid}@sessions.fitstudio"
        assert (event.start, event.end) == (booked.starts_at, booked.ends_at)
        assert event["STATUS"] == "CONFIRMED"
        assert link.token not in response.content.decode()

    def test_a_studio_without_an_address(self, client, booked, link):
        """The place is its name, without a comma behind it."""
        booked.studio.address = ""
        booked.studio.save()
        event = Calendar.from_ical(page(client, link, "invitation").content).events[0]
        assert event["LOCATION"] == booked.studio.name

    def test_after_a_move_and_a_cancellation(self, client, booked, link):
        """The file follows."""
        move_session(fit_session=booked, new_start=START + timedelta(days=15), by=None)
        cancel_session(fit_session=booked, by=None)
        event = Calendar.from_ical(page(client, link, "invitation").content).events[0]
        assert (event["SEQUENCE"], event["STATUS"]) == (2, "CANCELLED")
        assert event.start == START + timedelta(days=15)


class TestAccess:
    """The link opens its own session and nothing else."""

    @pytest.mark.parametrize("name", ["home", "invitation"])
    def test_whose_link_it_is(self, client, booked, link, name):
        """A rider's own link opens; forged, cut and made-up ones do not; a revoked and an expired one say so."""
        assert page(client, link, name).status_code == 200
        for token in (link.token[:-1], f"x{link.token}", f"{link.key}.{'0' * 24}", "x", "é", "x" * 500):
            assert client.get(reverse(f"rider:{name}", args=[token])).status_code == 404
        RiderLink.objects.update(revoked_at=NOW)
        assert page(client, link, name).status_code == 410
        RiderLink.objects.update(revoked_at=None, expires_at=NOW)
        assert page(client, link, name).status_code == 410

    def test_the_same_person_twice(self, client, booked, link):
        """Two sessions of one client have two links, and neither shows the other."""
        other = book_one(booked.service, START + timedelta(days=15), wish="Something else")
        assert other.fit_session.client == booked.client
        assertNotContains(page(client, link), "Something else")
        assertNotContains(page(client, other.link), "A quieter knee")

    def test_a_link_without_a_session(self, client, db):
        """A check that belongs to no session has no home: not found, no error."""
        assert page(client, factories.RiderLinkFactory()).status_code == 404

    def test_neither_kept_nor_indexed(self, client, link):
        """A private page stays out of caches, search engines and other sites' logs."""
        response = page(client, link)
        assert "no-store" in response["Cache-Control"]
        assert response["X-Robots-Tag"] == "noindex"
        assertContains(response, '<meta name="referrer" content="same-origin">')

    def test_wrong_methods(self, client, link):
        """These pages are only read."""
        for name in ("home", "invitation"):
            assert client.post(reverse(f"rider:{name}", args=[link.token])).status_code == 405


class TestPaperForm:
    """The check as a PDF."""

    def text(self, response):
        """The words on all pages, spaces apart."""
        assert response["Content-Type"] == "application/pdf"
        pages = PdfReader(BytesIO(response.content)).pages
        return " ".join(" ".join(page.extract_text().split()) for page in pages)

    def test_it_is_this_riders_form(self, client, link):
        """Rider, bike, session and studio stand on it, and every question that may be asked of this bike."""
        text = self.text(page(client, link, "paper_form"))
        for words in ("Ilse Kvalheim", "Blue road bike", "Tue 24 Mar 2026, 10:00", "Wrenfield Cycle Fitting"):
            assert words in text
        for part in paper_check(link.pre_visit, load_catalogue()).parts:
            for question in part.questions:
                assert "".join(question.question.split()) in text.replace(" ", "")

    def test_one_box_for_what_could_not_be_done(self, booked):
        """The form prints that box itself: it does not stand among the answers as well."""
        for group in paper_form_of(booked).groups:
            for check in group.checks:
                assert check.answers
                assert str(COULD_NOT_LABEL) not in check.answers

    def test_in_the_riders_unit_on_the_studios_paper(self, client, booked, link):
        """A rider who reads inches writes inches; a studio with Letter paper prints on it."""
        booked.client.length_unit, booked.studio.paper = "in", "Letter"
        booked.client.save()
        booked.studio.save()
        response = page(client, link, "paper_form")
        assert "write lengths in inches" in self.text(response)
        assert [round(float(side)) for side in PdfReader(BytesIO(response.content)).pages[0].mediabox[2:]] == [612, 792]

    def test_the_desk_prints_the_same(self, client, fitter_user, booked, link):
        """The same bytes, behind the log-in."""
        url = reverse("desk_booking:paper_form", args=[booked.pk])
        assert client.get(url).status_code == 302
        client.force_login(fitter_user)
        assert client.get(url).content == page(client, link, "paper_form").content

    def test_any_name(self, client, booked, link):
        """A long name in another script does not stop the print."""
        booked.client.name, booked.client.latin_name = "李" * 200, "Li " * 60
        booked.client.save()
        assert page(client, link, "paper_form").status_code == 200

    def test_queries(self, client, link, django_assert_num_queries):
        """The link and the session with all that stands on the form."""
        with django_assert_num_queries(2):
            page(client, link, "paper_form")
