"""The mails around a job sheet: to the workshop, to the rider about what it answered, to the studio when a new link is asked for."""

from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from intake.models import JobAnswer, JobLink, JobLinkRequest, JobSheet, OutgoingMail
from intake.models.mail import MailState
from intake.selectors.links import full_address, newest_link
from intake.services.mail import File, queue_mail
from intake.services.triage import lock_check
from sessions.models import FitSession
from sessions.selectors.workshop.sheet_content import job_sheet_of
from sessions.selectors.workshop.sheets import SheetShown
from sessions.services.workshop.errors import NoAddressError, SheetClosedError
from sessions.services.workshop.sheets import check_open
from sessions.sheets.job_sheet import job_sheet_pdf

GATHERED_FOR = timedelta(minutes=5)  # a mechanic goes from line to line: the rider gets one mail about all of them


@dataclass(frozen=True)
class Letter:
    """A mail as it was edited."""

    subject: str
    body: str


def draft_letter(found: SheetShown, fit_session: FitSession) -> Letter:
    """Return what the mail to the workshop says before anybody edits it."""
    with translation.override(settings.LANGUAGE_CODE), timezone.override(fit_session.studio.zone):
        subject = _("Job sheet %(number)d from %(studio)s: %(bike)s")
        body = render_to_string("sessions/workshop/mail/sheet.txt", {"found": found, "fit_session": fit_session})
        words = {"number": found.sheet.pk, "studio": fit_session.studio.name, "bike": fit_session.bike.name}
        return Letter(" ".join((subject % words).split())[:250], body.strip() + "\n")


@transaction.atomic
def mail_job_sheet(*, found: SheetShown, fit_session: FitSession, letter: Letter) -> OutgoingMail:
    """Mail the sheet, with its print, to its workshop; the same letter goes once for each link. The rider of the desk's sheet is told.

    Raises JobOverError, NoAddressError, SheetClosedError.
    """
    sheet = found.sheet
    lock_check(sheet.pre_visit)
    check_open(fit_session)
    if not sheet.workshop_email:
        raise NoAddressError
    if found.link is None or not JobLink.objects.filter(pk=found.link.pk, revoked_at__isnull=True).exists():
        raise SheetClosedError
    digest = sha256(f"{letter.subject}\n{letter.body}".encode()).hexdigest()[:16]
    mail = queue_mail(
        key=f"job-sheet:{sheet.pk}:{found.link.pk}:{digest}",
        to=sheet.workshop_email,
        reply_to=fit_session.studio.email,
        subject=letter.subject,
        body=letter.body,
        client=fit_session.client,
        files=[File(f"job-sheet-{sheet.pk}.pdf", "application/pdf", job_sheet_pdf(job_sheet_of(found, fit_session)))],
    )
    if sheet.created_by_id is not None:
        _tell_rider_of_sheet(sheet, fit_session)
    return mail


def _tell_rider_of_sheet(sheet: JobSheet, fit_session: FitSession) -> None:
    """Tell the rider, once, who has the sheet, and that it is theirs to say what the workshop may know of them."""
    link = newest_link(sheet.pre_visit)
    context = {"sheet": sheet, "fit_session": fit_session, "address": full_address(link, "rider:job_sheets")}
    _mail_rider(f"job-sheet-made:{sheet.pk}", fit_session, _("A workshop has a job sheet for %s"), "made.txt", context)


def tell_rider_of_answer(*, answer: JobAnswer, fit_session: FitSession) -> OutgoingMail:
    """Tell the rider what the workshop answered: one mail for all answers of the next few minutes, written anew with each.

    Call it with the check locked, so that of two answers at once neither writes over the other.
    """
    sheet = answer.line.job_sheet
    waiting = _waiting_mail(sheet)
    first = int(waiting.key.rpartition(":")[2]) if waiting else answer.pk
    context = {
        "answers": _latest_since(sheet, first),
        "sheet": sheet,
        "fit_session": fit_session,
        "address": full_address(newest_link(sheet.pre_visit), "check:advice"),
    }
    subject = _("The workshop has answered about %s")
    if waiting is None:
        return _mail_rider(f"job-answers:{sheet.pk}:{first}", fit_session, subject, "answered.txt", context, later=True)
    waiting.body = _text("answered.txt", fit_session, context)
    waiting.save(update_fields=["body"])
    return waiting


def _waiting_mail(sheet: JobSheet) -> OutgoingMail | None:
    """Return the mail about this sheet's answers that has not begun to go out, held so that it does not go meanwhile."""
    waiting = OutgoingMail.objects.select_for_update().filter(
        key__startswith=f"job-answers:{sheet.pk}:", state=MailState.QUEUED, attempts=0, send_after__gt=timezone.now()
    )
    return waiting.order_by("-pk").first()


def _latest_since(sheet: JobSheet, first: int) -> list[JobAnswer]:
    """Return the latest answer to each line that was answered since one of them, in the order of the lines."""
    answers = JobAnswer.objects.filter(line__job_sheet=sheet, pk__gte=first).select_related("line").order_by("pk")
    latest = {answer.line_id: answer for answer in answers}
    return sorted(latest.values(), key=lambda answer: answer.line.position)


def _mail_rider(
    key: str,
    fit_session: FitSession,
    subject: str,
    template: str,
    context: dict[str, object],
    *,
    later: bool = False,
) -> OutgoingMail:
    client = fit_session.client
    return queue_mail(
        key=key,
        to=client.email,
        reply_to=fit_session.studio.email,
        subject=subject % fit_session.bike.name,
        body=_text(template, fit_session, context),
        client=client,
        send_after=timezone.now() + GATHERED_FOR if later else None,
    )


def _text(template: str, fit_session: FitSession, context: dict[str, object]) -> str:
    with translation.override(settings.LANGUAGE_CODE), timezone.override(fit_session.studio.zone):
        return render_to_string(f"sessions/workshop/mail/{template}", context).strip() + "\n"


@transaction.atomic
def ask_for_new_link(*, link: JobLink, fit_session: FitSession) -> JobLinkRequest:
    """Keep that a workshop asks for a new link and tell the studio: once for each sheet and day."""
    sheet, studio = link.job_sheet, fit_session.studio
    lock_check(sheet.pre_visit)
    today = timezone.localtime(timezone.now(), studio.zone).date()
    asked, is_new = JobLinkRequest.objects.get_or_create(job_sheet=sheet, asked_on=today)
    if is_new:
        place = reverse("job_sheets:sheet", args=[fit_session.pk, sheet.pk])
        context = {"sheet": sheet, "fit_session": fit_session, "address": settings.SITE_URL + place}
        queue_mail(
            key=f"job-link:{sheet.pk}:{today.isoformat()}",
            to=studio.email,
            subject=_("%(workshop)s asks for a new link to job sheet %(number)d")
            % {"workshop": sheet.workshop_name, "number": sheet.pk},
            body=_text("asked.txt", fit_session, context),
        )
    return asked
