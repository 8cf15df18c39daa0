"""A workshop's answers, line by line: kept for ever, findings close or wait for the desk, the rider gets one mail about all of them."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import IntegrityError, connections, transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from intake.models import JobAnswer, JobLink, JobLinkRequest, OutgoingMail, RepairReport, TriageSummary
from intake.services.mail import send_one, waiting_mail
from intake.triage.answers import Ruling
from sessions.models import FitSession
from sessions.selectors.review.listing import review_counts, review_sessions
from sessions.services.booking.moves import cancel_session
from sessions.services.review.decisions import rule_on_finding
from sessions.services.workshop.mail import GATHERED_FOR
from sessions.services.workshop.sheets import Recipient, close_job_sheet, make_job_sheet
from tests import factories
from tests.reviewing import all_answered

STUCK, SLIPS = "post_slides.stuck", "gears.slipping"


@pytest.fixture
def stuck(fit_session):
    """A session whose rider has answered everything: the post is stuck, the gears slip."""
    all_answered(fit_session, post_slides="stuck", gears="slipping")
    return FitSession.objects.select_related("studio", "client", "bike", "pre_visit__client").get(pk=fit_session.pk)


@pytest.fixture
def sheet(stuck):
    """A job sheet about both."""
    return make_job_sheet(
        fit_session=stuck,
        keys=[STUCK, SLIPS],
        recipient=Recipient("Lock Gate Repairs", "bench@lockgate.example"),
        request_key=uuid4(),
    )


def token(sheet):
    return sheet.links.get(revoked_at=None).token


def typed(line, outcome="done", *, note="", name="Ada", seen=0, key=None):
    """What the form of one line sends."""
    given = {"request_key": key or uuid4(), "outcome": outcome, "note": note, "answered_by": name, "seen": seen}
    return {f"line-{line.pk}-{field}": value for field, value in given.items()}


def answer(browser, line, *args, headers=None, **kwargs):
    path = reverse("workshop:answer", args=[token(line.job_sheet), line.pk])
    return browser.post(path, typed(line, *args, **kwargs), headers=headers or {})


def line_of(sheet, key=STUCK):
    return sheet.lines.get(finding_key=key)


@pytest.mark.django_db
class TestAnAnswer:
    """One person, one line at a time."""

    def test_done_closes_the_finding(self, client, stuck, sheet):
        """The verdict moves, and the report is kept with whose word it is."""
        assert TriageSummary.objects.get().verdict == "fix_first"
        assert answer(client, line_of(sheet), "done", note="Came out with patience.").status_code == 302
        report = RepairReport.objects.get()
        assert (report.finding_key, report.source, report.outcome) == (STUCK, "workshop", "done")
        assert (report.note, report.reporter_name) == ("Came out with patience.", "Ada")
        answer(client, line_of(sheet, SLIPS), "done")
        assert TriageSummary.objects.get().verdict == "clear"

    @pytest.mark.parametrize("outcome", ["needs_part", "cannot"])
    def test_what_is_not_done_waits_for_the_desk_until_it_decides(self, client, fitter_user, stuck, sheet, outcome):
        """On the list and on the session's page, with the workshop's note; a decision settles it."""
        for key in (STUCK, SLIPS):
            rule_on_finding(fit_session=stuck, key=key, ruling=Ruling.ACCEPT, by=fitter_user)
        before = review_counts(timezone.now())["due"]
        answer(client, line_of(sheet), outcome, note="The post will not survive.")
        now = timezone.now()
        assert [found.workshop_waits for found in review_sessions(now, due_only=True)] == [True]
        assert review_counts(now)["due"] == before + 1 == 1
        client.force_login(fitter_user)
        page = client.get(reverse("review:session", args=[stuck.pk])).content.decode()
        assert "The workshop could not do everything" in page
        assert page.count("The post will not survive.") >= 2
        rule_on_finding(fit_session=stuck, key=STUCK, ruling=Ruling.ACCEPT, by=fitter_user)
        assert not review_sessions(now).get().workshop_waits
        page = client.get(reverse("review:session", args=[stuck.pk])).content.decode()
        assert "The workshop could not do everything" not in page

    def test_a_later_done_settles_what_waited_for_a_part(self, client, stuck, sheet):
        """The latest answer is in force; the earlier ones stay to be read."""
        answer(client, line_of(sheet), "needs_part", note="Ordered.")
        answer(client, line_of(sheet), "done", note="Fitted.")
        assert not review_sessions(timezone.now()).get().workshop_waits
        page = client.get(reverse("workshop:sheet", args=[token(sheet)])).content.decode()
        assert page.index("Ordered.") < page.index("Fitted.")
        assert "1 of 2 done" in page

    def test_the_same_tap_twice_answers_once(self, client, stuck, sheet):
        """Whatever the network does."""
        key = uuid4()
        for _ in range(3):
            assert answer(client, line_of(sheet), "cannot", key=key).status_code == 302
        assert (JobAnswer.objects.count(), RepairReport.objects.count()) == (1, 1)
        assert OutgoingMail.objects.filter(key__startswith="job-answers").count() == 1

    @pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}], ids=["plain", "in place"])
    @pytest.mark.parametrize(
        ("wrong", "field"),
        [({"outcome": ""}, "outcome"), ({"outcome": "perhaps"}, "outcome"), ({"name": ""}, "answered_by"),
         ({"note": "x" * 501}, "note"), ({"seen": "-1"}, "seen"), ({"key": "no key"}, "request_key")],
    )  # fmt: skip
    def test_bad_input_is_told_in_place_and_nothing_is_lost(self, client, stuck, sheet, wrong, field, headers):
        """The note that was typed is still there, and nothing is kept."""
        given = {"outcome": "done", "note": "¿kept <b>here</b>?", "name": "Ada", **wrong}
        response = answer(client, line_of(sheet), given.pop("outcome"), headers=headers, **given)
        assert response.status_code == 422
        html = response.content.decode()
        assert "Please look at this again" in html
        assert field == "note" or "¿kept &lt;b&gt;here&lt;/b&gt;?" in html
        assert not JobAnswer.objects.exists()

    def test_a_stale_page_keeps_its_answer_and_says_who_was_faster(self, client, stuck, sheet):
        """Both notes stand; a page that had seen the first says nothing."""
        line = line_of(sheet)
        answer(client, line, "needs_part", note="Ordered a post.", name="Oddný")
        first = JobAnswer.objects.get()
        response = client.post(
            reverse("workshop:answer", args=[token(sheet), line.pk]),
            typed(line, "cannot", note="It broke.", name="Brian", seen=0),
            follow=True,
        )
        html = response.content.decode()
        assert "Oddný answered the same line in the meantime. Both answers are kept." in html
        assert "Ordered a post." in html
        assert "It broke." in html
        in_place = answer(client, line, "done", seen=0, headers={"HX-Request": "true"}).content.decode()
        assert "Somebody answered this line in the meantime" in in_place
        seen = JobAnswer.objects.order_by("-pk").first().pk
        assert seen > first.pk
        in_place = answer(client, line, "done", note="Again.", seen=seen, headers={"HX-Request": "true"})
        assert "in the meantime" not in in_place.content.decode()

    def test_each_telephone_remembers_the_name_typed_on_it(self, client, stuck, sheet):
        """In its own cookie, which a forger cannot write."""
        answer(client, line_of(sheet), "done", name="Þórdís 🚲")
        path = reverse("workshop:sheet", args=[token(sheet)])
        assert 'value="Þórdís 🚲"' in client.get(path).content.decode()
        assert "Þórdís" not in [form["answered_by"].value() for _, form in Browser().get(path).context["lines"]]
        client.cookies["workshop_name"] = "forged"
        assert [form["answered_by"].value() for _, form in client.get(path).context["lines"]] == ["", ""]


@pytest.mark.django_db
class TestTheRiderIsTold:
    """One mail for what a mechanic answers in a few minutes."""

    def test_answers_of_a_few_minutes_make_one_mail(self, client, stuck, sheet, time_machine):
        """It says the latest of each line and goes when the minutes are over; later ones make another."""
        rider_link = factories.RiderLinkFactory(pre_visit=stuck.pre_visit)
        start = timezone.now()
        time_machine.move_to(start, tick=False)
        answer(client, line_of(sheet), "needs_part", note="Looking for one.")
        time_machine.move_to(start + timedelta(minutes=2), tick=False)
        answer(client, line_of(sheet, SLIPS), "done")
        answer(client, line_of(sheet), "cannot", note="None to be had.")
        told = OutgoingMail.objects.get(key__startswith="job-answers")
        assert told.to == stuck.client.email
        for expected in ("cannot be done", "None to be had.", "done", rider_link.token):
            assert expected in told.body
        assert "Looking for one." not in told.body
        assert told.pk not in waiting_mail()
        time_machine.move_to(start + GATHERED_FOR, tick=False)
        assert told.pk in waiting_mail()
        answer(client, line_of(sheet), "done")
        assert OutgoingMail.objects.filter(key__startswith="job-answers").count() == 2
        assert send_one(told.pk)
        told.refresh_from_db()
        assert "None to be had." in told.body


@pytest.mark.django_db
class TestTheEnd:
    """Cancelled sessions, closed links."""

    def test_a_cancelled_session_takes_no_answer_and_says_so(self, client, stuck, sheet, fitter_user):
        """On the page, and to whoever had it open."""
        line = line_of(sheet)
        cancel_session(fit_session=stuck, by=fitter_user)
        page = client.get(reverse("workshop:sheet", args=[token(sheet)]))
        assert "This session was cancelled" in page.content.decode()
        assert "Seatpost" not in page.content.decode()
        response = answer(client, line)
        assert "This session was cancelled" in response.content.decode()
        assert not JobAnswer.objects.exists()
        assert client.get(reverse("workshop:pdf", args=[token(sheet)])).status_code == 302
        assert not OutgoingMail.objects.filter(key__startswith="job-").exists()

    def test_a_closed_link_lets_ask_for_a_new_one_once_a_day(self, client, stuck, sheet, fitter_user, time_machine):
        """A row, a mail to the studio and a mark on the list, until a new link is made."""
        link = sheet.links.get()
        close_job_sheet(job_sheet=sheet)
        gone = client.get(reverse("workshop:sheet", args=[link.token]))
        assert gone.status_code == 410
        assert reverse("workshop:ask", args=[link.token]) in gone.content.decode()
        ask = reverse("workshop:ask", args=[link.token])
        for _ in range(3):
            assert "The studio has been told" in client.post(ask).content.decode()
        told = OutgoingMail.objects.get(key__startswith="job-link")
        assert (told.to, JobLinkRequest.objects.count()) == (stuck.studio.email, 1)
        assert review_sessions(timezone.now()).get().workshop_waits
        time_machine.move_to(timezone.now() + timedelta(days=1))
        client.post(ask)
        assert (JobLinkRequest.objects.count(), OutgoingMail.objects.filter(key__startswith="job-link").count()) == (
            2,
            2,
        )
        client.force_login(fitter_user)
        page = client.get(reverse("job_sheets:sheet", args=[stuck.pk, sheet.pk])).content.decode()
        assert "A new link is asked for" in page
        client.post(reverse("job_sheets:renew", args=[stuck.pk, sheet.pk]), {"replaces": link.pk})
        assert not review_sessions(timezone.now()).get().workshop_waits
        assert client.get(reverse("workshop:sheet", args=[token(sheet)])).status_code == 200

    def test_an_open_link_has_nothing_to_ask_for(self, client, sheet):
        """The button of a page that was left open leads back to the sheet."""
        assert client.post(reverse("workshop:ask", args=[token(sheet)])).status_code == 302
        assert not JobLinkRequest.objects.exists()

    def test_answers_stay_in_the_database_as_they_were_given(self, sheet):
        """With a name and one of three outcomes."""
        line = line_of(sheet)
        for given in ({"outcome": "maybe", "answered_by": "Ada"}, {"outcome": "done", "answered_by": ""}):
            with pytest.raises(IntegrityError), transaction.atomic():
                line.answers.create(**given)


@pytest.mark.django_db(transaction=True)
def test_two_people_at_once_lose_neither_note(stuck, sheet):
    """Real threads against the real database: every note is kept, each in its own row, and the rider gets one mail with the last."""
    people = ["Oddný", "Brian", "Ngaire", "Tomasz"]
    line, link = line_of(sheet), JobLink.objects.get()
    path, gate = reverse("workshop:answer", args=[link.token, line.pk]), Barrier(len(people))
    sent = {name: typed(line, "needs_part", note=f"From {name}.", name=name) for name in people}

    def post(name):
        try:
            gate.wait()
            return Browser().post(path, sent[name]).status_code
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(people)) as hands:
        assert list(hands.map(post, people)) == [302] * len(people)
    assert sorted(JobAnswer.objects.values_list("note", flat=True)) == sorted(f"From {name}." for name in people)
    assert RepairReport.objects.count() == len(people)
    told = OutgoingMail.objects.get(key__startswith="job-answers")
    assert JobAnswer.objects.order_by("-pk").first().note in told.body
    page = Browser().get(reverse("workshop:sheet", args=[link.token])).content.decode()
    assert all(f"From {name}." in page for name in people)
