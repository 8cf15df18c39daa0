"""Make a job sheet, open and close its link, and keep what the rider shares with the workshop."""

from collections.abc import Collection
from dataclasses import dataclass
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from intake.models import JobLine, JobLink, JobSheet, OutgoingMail, Workshop
from intake.models.mail import MailState
from intake.services.job_links import close_job_links, is_open, issue_job_link
from intake.services.triage import lock_check
from intake.slots import slot_of
from sessions.diary.states import ENDED, SessionState
from sessions.models import FitSession
from sessions.selectors.workshop.drafts import JobDraft, drafts_of_check
from sessions.services.workshop.errors import JobOverError, LineGoneError, TooManySheetsError

MOST_SHEETS = 12


@dataclass(frozen=True)
class Recipient:
    """For whom a sheet is: a workshop of the studio's list, or one of the rider's own choice by name and e-mail."""

    name: str
    email: str = ""
    workshop: Workshop | None = None


@dataclass(frozen=True)
class Shared:
    """What the rider lets a workshop know."""

    name: bool = False
    phone: bool = False
    email: bool = False


NOTHING_SHARED = Shared()


@transaction.atomic
def make_job_sheet(
    *,
    fit_session: FitSession,
    keys: Collection[str],
    recipient: Recipient,
    request_key: UUID,
    note: str = "",
    shared: Shared = NOTHING_SHARED,
    by: AbstractBaseUser | None = None,
) -> JobSheet:
    """Make a sheet with a line for each of these findings, and its link; the same form sent twice makes one.

    ``by`` is None where the rider makes it. Raises JobOverError, LineGoneError, TooManySheetsError.
    """
    pre_visit = fit_session.pre_visit
    lock_check(pre_visit)
    made = JobSheet.objects.filter(pre_visit=pre_visit)
    if same := made.filter(request_key=request_key).first():
        return same
    check_open(fit_session)
    if made.count() >= MOST_SHEETS:
        raise TooManySheetsError(MOST_SHEETS)
    session_slot = slot_of(pre_visit.pk)
    drafts = _chosen(drafts_of_check(pre_visit, session_slot), keys)
    sheet = JobSheet.objects.create(
        pre_visit=pre_visit,
        workshop=recipient.workshop,
        workshop_name=recipient.name,
        workshop_email=recipient.email,
        note=note,
        share_name=shared.name,
        share_phone=shared.phone,
        share_email=shared.email,
        request_key=request_key,
        created_by=by,
    )
    JobLine.objects.bulk_create(_line(sheet, draft, number) for number, draft in enumerate(drafts, start=1))
    issue_job_link(job_sheet=sheet, starts_at=session_slot.starts_at)
    return sheet


def check_open(fit_session: FitSession) -> None:
    """Refuse what comes after the end of a session; raises JobOverError."""
    state = FitSession.objects.values_list("state", flat=True).get(pk=fit_session.pk)
    if SessionState(state) in ENDED:
        raise JobOverError


def _chosen(drafts: tuple[JobDraft, ...], keys: Collection[str]) -> list[JobDraft]:
    """Return the drafts with these keys in their own order."""
    found = [draft for draft in drafts if draft.finding_key in keys]
    gone = set(keys) - {draft.finding_key for draft in found}
    if gone or not found:
        raise LineGoneError(tuple(sorted(gone)))
    return found


def _line(sheet: JobSheet, draft: JobDraft, number: int) -> JobLine:
    return JobLine(
        job_sheet=sheet,
        position=number,
        finding_key=draft.finding_key,
        title=draft.title,
        wrong=draft.wrong,
        needs="\n".join(draft.needs),
        work=draft.work,
        part=draft.part,
        caution=draft.caution,
        not_to_ride=draft.not_to_ride,
        lead_days=draft.lead_days,
    )


@transaction.atomic
def share_contact(*, job_sheet: JobSheet, shared: Shared) -> None:
    """Keep what the rider shares with this workshop from now on."""
    job_sheet.share_name, job_sheet.share_phone, job_sheet.share_email = shared.name, shared.phone, shared.email
    job_sheet.save(update_fields=["share_name", "share_phone", "share_email"])


@transaction.atomic
def close_job_sheet(*, job_sheet: JobSheet) -> bool:
    """Close the link of a sheet and drop the mail to its workshop that has not gone yet; return whether the link was open."""
    lock_check(job_sheet.pre_visit)
    _drop_mail(job_sheet)
    return close_job_links(job_sheet=job_sheet) > 0


@transaction.atomic
def renew_job_link(*, job_sheet: JobSheet, replaces: str = "") -> JobLink:
    """Close the open link of a sheet and make a new one.

    ``replaces`` is the id of the newest link that the page showed: the same page sent twice renews once.
    """
    lock_check(job_sheet.pre_visit)
    newest = job_sheet.links.order_by("-pk").first()
    if newest is not None and replaces != str(newest.pk) and is_open(newest):
        return newest
    _drop_mail(job_sheet)
    close_job_links(job_sheet=job_sheet)
    return issue_job_link(job_sheet=job_sheet, starts_at=slot_of(job_sheet.pre_visit_id).starts_at)


def _drop_mail(job_sheet: JobSheet) -> None:
    """Let no mail go out with a link that is closed."""
    waiting = OutgoingMail.objects.filter(key__startswith=f"job-sheet:{job_sheet.pk}:", state=MailState.QUEUED)
    waiting.update(state=MailState.DROPPED)
