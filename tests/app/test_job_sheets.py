"""Job sheets: made from the findings by the desk or the rider, mailed, closed, renewed; of the rider only what they agree to."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core import mail as sent
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from intake.models import Client, JobLine, JobLink, JobSheet, OutgoingMail, RiderLink, Workshop
from intake.services.clients import save_client
from intake.services.job_links import is_open
from intake.services.mail import send_one
from intake.slots import slot_of
from sessions.models import FitSession
from sessions.selectors.workshop.sheets import job_sheets, shown
from sessions.services.booking.moves import cancel_session, move_session
from sessions.services.workshop.errors import JobOverError, LineGoneError, TooManySheetsError
from sessions.services.workshop.sheets import MOST_SHEETS, Recipient, make_job_sheet
from tests import factories
from tests.reviewing import answered

pytestmark = pytest.mark.django_db

STUCK = "post_slides.stuck"
LOCK_GATE = Recipient("Lock Gate Repairs", "bench@lockgate.example")


@pytest.fixture
def stuck(fit_session):
    """A session whose rider reports a stuck post, and gears that slip."""
    answered(fit_session, post_slides="stuck", gears="slipping")
    return FitSession.objects.select_related("studio", "client", "bike", "pre_visit__client").get(pk=fit_session.pk)


@pytest.fixture
def workshop(db):
    """A workshop of the studio's list."""
    return factories.WorkshopFactory(name="Lock Gate Repairs")


def made(fit_session, **kwargs):
    """Make a sheet as the services do."""
    given = {"keys": [STUCK], "recipient": LOCK_GATE, "request_key": uuid4(), **kwargs}
    return make_job_sheet(fit_session=fit_session, **given)


def found(sheet):
    """The sheet as its pages show it."""
    return shown(job_sheets().get(pk=sheet.pk), slot_of(sheet.pre_visit_id))


def new_at_desk(fit_session):
    return reverse("job_sheets:new", args=[fit_session.pk])


def filled(browser, path, **typed):
    """Send the page's own form, filled in."""
    form = browser.get(path).context["form"]
    return browser.post(path, {"request_key": form["request_key"].value(), **typed})


def test_the_desk_makes_a_sheet_with_what_a_workshop_can_do_ticked(fitter_client, stuck, workshop):
    """The stuck post and the gears are suggested; the sheet says what is wrong and what the session needs."""
    path = new_at_desk(stuck)
    form = fitter_client.get(path).context["form"]
    assert STUCK in form.initial["lines"]
    answer = filled(fitter_client, path, lines=form.initial["lines"], workshop=workshop.pk)
    sheet = JobSheet.objects.get()
    assert answer["Location"] == reverse("job_sheets:sheet", args=[stuck.pk, sheet.pk])
    line = sheet.lines.get(finding_key=STUCK)
    assert "It does not move at all" in line.wrong
    assert "the post must slide freely" in line.needs
    assert line.lead_days == 7
    assert (sheet.workshop, sheet.workshop_name, sheet.workshop_email) == (workshop, workshop.name, workshop.email)
    assert (sheet.share_name, sheet.share_phone, sheet.share_email) == (False, False, False)
    assert is_open(sheet.links.get())


def test_what_is_wrong_stays_as_it_was_said(stuck):
    """A later answer, or another catalogue, changes no sheet that was handed over."""
    sheet = made(stuck)
    before = list(JobLine.objects.values("title", "wrong", "needs", "work"))
    answered(stuck, post_slides="slides")
    assert list(JobLine.objects.values("title", "wrong", "needs", "work")) == before
    assert found(sheet).lines[0].line.title == "Seatpost stuck in the frame"


def test_deadlines_follow_a_session_that_is_moved(stuck, fitter_user):
    """Seven working days before the session, whenever that is."""
    sheet = made(stuck)
    before = found(sheet).start_by
    assert before == slot_of(stuck.pre_visit_id).slot.starts_on - timedelta(days=9)  # seven working days and a weekend
    move_session(fit_session=stuck, new_start=stuck.starts_at + timedelta(days=7), by=fitter_user)
    assert found(sheet).start_by == before + timedelta(days=7)


def test_a_link_stays_open_until_two_weeks_after_the_session(stuck, time_machine):
    """Also where the session was moved after the link was made."""
    link = made(stuck).links.get()
    later = timedelta(days=30)
    FitSession.objects.filter(pk=stuck.pk).update(starts_at=stuck.starts_at + later, ends_at=stuck.ends_at + later)
    time_machine.move_to(stuck.starts_at + timedelta(days=43))
    assert is_open(link)
    time_machine.move_to(stuck.starts_at + timedelta(days=44, minutes=1))
    assert not is_open(link)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"lines": [], "workshop": "other", "other_name": "Spokes"}, "lines"),
        ({"lines": ["nothing.such"], "workshop": "other", "other_name": "Spokes"}, "lines"),
        ({"lines": [STUCK]}, "workshop"),
        ({"lines": [STUCK], "workshop": "999999"}, "workshop"),
        ({"lines": [STUCK], "workshop": "other"}, "other_name"),
        ({"lines": [STUCK], "workshop": "other", "other_name": "Spokes", "other_email": "spokes"}, "other_email"),
        ({"lines": [STUCK], "workshop": "other", "other_name": "Sp\x00", "note": "¿keep this?"}, "other_name"),
        ({"lines": [STUCK], "workshop": "other", "other_name": "Spokes", "note": "x" * 501}, "note"),
        ({"lines": [STUCK], "workshop": "other", "other_name": "Spokes", "note": "see https://x.example"}, "note"),
    ],
)
def test_bad_input_is_refused_beside_its_field(fitter_client, stuck, typed, field):
    """Nothing is made, and what was typed is still there."""
    answer = filled(fitter_client, new_at_desk(stuck), **typed)
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert not JobSheet.objects.exists()
    assert "¿keep this?" in answer.content.decode() or "note" not in typed or field == "note"


def test_the_same_form_sent_twice_makes_one_sheet(fitter_client, stuck):
    """A double tap."""
    path = new_at_desk(stuck)
    sent_form = {"request_key": uuid4(), "lines": [STUCK], "workshop": "other", "other_name": "Spokes"}
    assert [fitter_client.post(path, sent_form).status_code for _ in range(2)] == [302, 302]
    assert (JobSheet.objects.count(), JobLine.objects.count(), JobLink.objects.count()) == (1, 1, 1)


def test_no_sheet_for_what_is_over_gone_or_too_much(stuck, fitter_user):
    """Each refusal has its own reason."""
    with pytest.raises(LineGoneError):
        made(stuck, keys=["cleat_wear.past_marker"])
    with pytest.raises(LineGoneError):
        made(stuck, keys=[])
    factories.JobSheetFactory.create_batch(MOST_SHEETS, pre_visit=stuck.pre_visit)
    with pytest.raises(TooManySheetsError, match="12"):
        made(stuck)
    cancel_session(fit_session=stuck, by=fitter_user)
    with pytest.raises(JobOverError):
        made(stuck)


def mailed(browser, fit_session, sheet, **changed):
    """Send the letter from the sheet's page."""
    form = browser.get(reverse("job_sheets:sheet", args=[fit_session.pk, sheet.pk])).context["form"]
    letter = {"subject": form["subject"].value(), "body": form["body"].value(), **changed}
    return browser.post(reverse("job_sheets:mail", args=[fit_session.pk, sheet.pk]), letter)


def test_the_letter_goes_to_the_workshop_once_with_the_print_and_the_rider_is_told(fitter_client, stuck, fitter_user):
    """The letter has the link and nothing of the rider's; the rider hears who has the sheet."""
    rider_link = factories.RiderLinkFactory(pre_visit=stuck.pre_visit)
    sheet = made(stuck, by=fitter_user)
    for _ in range(2):
        assert mailed(fitter_client, stuck, sheet).status_code == 302
    letter = OutgoingMail.objects.get(to="bench@lockgate.example")
    assert sheet.links.get().token in letter.body
    assert stuck.client.name not in letter.body + letter.subject
    assert stuck.client.email not in letter.body
    assert letter.attachments.get().content[:4] == b"%PDF"
    told = OutgoingMail.objects.get(key=f"job-sheet-made:{sheet.pk}")
    assert (told.to, rider_link.token in told.body) == (stuck.client.email, True)
    assert mailed(fitter_client, stuck, sheet, body="").status_code == 422


def test_a_letter_to_a_workshop_does_not_follow_the_riders_new_address(fitter_client, stuck, fitter_user):
    """Only what was meant for the rider does."""
    sheet = made(stuck, by=fitter_user)
    mailed(fitter_client, stuck, sheet)
    client = Client.objects.get(pk=stuck.client_id)
    client.email = "moved@tarnfell.example"
    save_client(client=client)
    assert OutgoingMail.objects.get(key__startswith=f"job-sheet:{sheet.pk}:").to == "bench@lockgate.example"
    assert OutgoingMail.objects.get(key=f"job-sheet-made:{sheet.pk}").to == "moved@tarnfell.example"


def test_no_mail_goes_to_a_sheet_that_is_closed(fitter_client, stuck, fitter_user):
    """What waits is dropped with the link, and nothing more is written before there is a new one."""
    sheet = made(stuck, by=fitter_user)
    mailed(fitter_client, stuck, sheet)
    waiting = OutgoingMail.objects.get(to="bench@lockgate.example")
    fitter_client.post(reverse("job_sheets:close", args=[stuck.pk, sheet.pk]))
    assert not send_one(waiting.pk)
    assert [mail.to for mail in sent.outbox if "lockgate" in mail.to[0]] == []
    refused = mailed(fitter_client, stuck, sheet, body="Another try.")
    assert refused.status_code == 422
    assert "closed" in refused.context["form"].errors["__all__"][0]


def test_a_new_link_closes_the_old_one_and_the_same_tap_twice_makes_one(fitter_client, stuck):
    """What a workshop has in its mail opens nothing any more."""
    sheet = made(stuck)
    old = sheet.links.get()
    for _ in range(2):
        fitter_client.post(reverse("job_sheets:renew", args=[stuck.pk, sheet.pk]), {"replaces": old.pk})
    assert sheet.links.count() == 2
    old.refresh_from_db()
    assert (is_open(old), is_open(sheet.links.order_by("-pk")[0])) == (False, True)


def test_a_sheet_has_one_open_link(stuck):
    """The database holds it."""
    sheet = made(stuck)
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.JobLinkFactory(job_sheet=sheet)


def test_the_rider_hands_it_to_any_workshop_and_says_what_it_may_know(client, stuck, rider_link):
    """Nothing is shared unless it is ticked, and that can be changed later."""
    answer = filled(
        client,
        reverse("rider:job_sheets", args=[rider_link.token]),
        lines=[STUCK],
        workshop="other",
        other_name="Pannier & Daughter",
        share_phone="on",
    )
    sheet = JobSheet.objects.get()
    assert answer["Location"] == reverse("rider:job_sheet", args=[rider_link.token, sheet.pk])
    assert (sheet.workshop_name, sheet.created_by) == ("Pannier & Daughter", None)
    assert (sheet.share_name, sheet.share_phone, sheet.share_email) == (False, True, False)
    page = client.get(reverse("workshop:sheet", args=[sheet.links.get().token]))
    assert stuck.client.email not in page.content.decode()
    client.post(reverse("rider:job_sheet_share", args=[rider_link.token, sheet.pk]), {"share_email": "on"})
    page = client.get(reverse("workshop:sheet", args=[sheet.links.get().token]))
    assert stuck.client.email in page.content.decode()
    assert stuck.client.name not in page.content.decode()


def test_the_rider_mails_the_sheet_in_the_studios_words_once(client, stuck, rider_link):
    """A rider can have one letter sent to the workshop, not any text to anybody as often as they like."""
    sheet = made(stuck)
    path = reverse("rider:job_sheet_mail", args=[rider_link.token, sheet.pk])
    for _ in range(3):
        client.post(path, {"subject": "Buy now", "body": "https://x.example"})
    letter = OutgoingMail.objects.get(to="bench@lockgate.example")
    assert "x.example" not in letter.body
    assert not OutgoingMail.objects.filter(key__startswith="job-sheet-made").exists()


def test_a_rider_without_an_address_for_the_workshop_is_told_what_to_do(client, stuck, rider_link):
    """Print it, or hand over the link."""
    sheet = made(stuck, recipient=Recipient("Spokes"))
    answer = client.post(reverse("rider:job_sheet_mail", args=[rider_link.token, sheet.pk]), follow=True)
    assert "No e-mail address is known" in answer.content.decode()


def test_another_riders_sheet_is_not_found(client, stuck):
    """By a link of one's own, whatever the number."""
    sheet = made(stuck)
    other = factories.FitSessionFactory(studio=stuck.studio, occupancy=False)
    token = factories.RiderLinkFactory(pre_visit=other.pre_visit).token
    for page in ("job_sheet", "job_sheet_pdf"):
        assert client.get(reverse(f"rider:{page}", args=[token, sheet.pk])).status_code == 404
    for page in ("job_sheet_share", "job_sheet_mail", "job_sheet_close"):
        assert client.post(reverse(f"rider:{page}", args=[token, sheet.pk])).status_code == 404
    assert sheet.links.get().revoked_at is None


def test_a_sheet_of_another_session_is_not_found_at_the_desk(fitter_client, stuck):
    """The address names both."""
    sheet = made(stuck)
    other = factories.FitSessionFactory(studio=stuck.studio, occupancy=False)
    assert fitter_client.get(reverse("job_sheets:sheet", args=[other.pk, sheet.pk])).status_code == 404


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_everybody_prints_the_same_sheet(client, fitter_user, stuck, rider_link, paper):
    """The workshop, the rider and the desk."""
    sheet = made(stuck)
    places = [
        reverse("workshop:pdf", args=[sheet.links.get().token]),
        reverse("rider:job_sheet_pdf", args=[rider_link.token, sheet.pk]),
        reverse("job_sheets:pdf", args=[stuck.pk, sheet.pk]),
    ]
    client.force_login(fitter_user)
    prints = [client.get(place, {"paper": paper}) for place in places]
    assert {page["Content-Type"] for page in prints} == {"application/pdf"}
    assert len({page.content for page in prints}) == 1


def test_the_pages_cost_the_same_however_many_lines_and_answers(client, stuck, django_assert_num_queries):
    """Eleven queries for the workshop's page."""
    sheet = made(stuck)
    path = reverse("workshop:sheet", args=[sheet.links.get().token])
    with django_assert_num_queries(11):
        client.get(path)
    for number in range(2, 12):
        line = factories.JobLineFactory(job_sheet=sheet, position=number, finding_key=f"a.{number}")
        line.answers.create(outcome="done", answered_by="Ada")
    with django_assert_num_queries(11):
        client.get(path)


def test_forgetting_a_rider_takes_their_sheets(stuck):
    """Workshops stay."""
    factories.WorkshopFactory()
    made(stuck)
    Client.objects.get(pk=stuck.client_id).delete()
    assert (JobSheet.objects.count(), JobLine.objects.count(), JobLink.objects.count()) == (0, 0, 0)
    assert (Workshop.objects.count(), RiderLink.objects.count()) == (1, 0)


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"name": ""}, "name"), ({"name": "LOCK GATE repairs"}, "name"), ({"name": "Spokes", "email": "x"}, "email")],
)
def test_a_workshop_is_kept_once_by_its_name(fitter_client, workshop, typed, field):
    """However it is written; what was typed stays."""
    answer = fitter_client.post(reverse("workshops:new"), typed)
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, [field])
    assert Workshop.objects.count() == 1


def test_a_retired_workshop_is_offered_no_more_and_comes_back(fitter_client, stuck, workshop):
    """Its sheets stay."""
    use = reverse("workshops:use", args=[workshop.pk])
    for word, offered in (("no", False), ("yes", True)):
        assert fitter_client.post(use, {"use": word}).status_code == 302
        choices = dict(fitter_client.get(new_at_desk(stuck)).context["form"].fields["workshop"].choices)
        assert (str(workshop.pk) in choices) is offered
    assert fitter_client.post(reverse("workshops:edit", args=[workshop.pk]), {"name": "Lock Gate"}).status_code == 302
    assert Workshop.objects.get().name == "Lock Gate"


def test_names_of_workshops_are_unique_in_the_database(workshop):
    """Whoever writes them."""
    for name in ("lock gate repairs", "", " Spokes"):
        with pytest.raises(IntegrityError), transaction.atomic():
            Workshop.objects.create(name=name)


def test_a_sheet_made_now_expires_after_the_session(stuck):
    """Not before it."""
    link = made(stuck).links.get()
    assert link.expires_at == stuck.starts_at + timedelta(days=14)
    assert link.expires_at > timezone.now()
