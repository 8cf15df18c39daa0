"""Open, issue and close the private links by which workshops reach a job sheet."""

from datetime import datetime

from django.utils import timezone
from django.utils.crypto import constant_time_compare

from intake.models import JobLink, JobSheet
from intake.models.workshops import LASTS_AFTER
from intake.services.links import LONGEST_TOKEN, LinkUnknownError
from intake.slots import slots_of


class JobLinkClosedError(Exception):
    """The link was revoked, or its time is over."""

    def __init__(self, link: JobLink) -> None:
        """Keep the link, for which a new one can be asked."""
        super().__init__("This link no longer opens a job sheet.")
        self.link = link


def job_link(token: str) -> JobLink:
    """Return the link of a token, open or closed, or raise ``LinkUnknownError``."""
    key, _dot, signature = token.partition(".")
    if len(token) > LONGEST_TOKEN or not token.isascii() or not token.isprintable():
        raise LinkUnknownError
    if not constant_time_compare(signature, JobLink.signature_of(key)):
        raise LinkUnknownError
    link = JobLink.objects.select_related("job_sheet").filter(key=key).first()
    if link is None:
        raise LinkUnknownError
    return link


def open_job_link(token: str) -> JobLink:
    """Return the open link of a token, or raise ``LinkUnknownError`` or ``JobLinkClosedError``."""
    link = job_link(token)
    if not is_open(link):
        raise JobLinkClosedError(link)
    return link


def is_open(link: JobLink) -> bool:
    """Return whether a link opens its sheet now; the session is asked only where the link's own time is over."""
    now = timezone.now()
    if link.revoked_at is not None or now < link.expires_at:
        return link.revoked_at is None
    session_slot = slots_of([link.job_sheet.pre_visit_id]).get(link.job_sheet.pre_visit_id)
    return session_slot is not None and link.is_open_at(now, session_slot.starts_at)


def issue_job_link(*, job_sheet: JobSheet, starts_at: datetime) -> JobLink:
    """Make a new link, which lasts until some days after the session, or after now where that is over."""
    return JobLink.objects.create(job_sheet=job_sheet, expires_at=max(starts_at, timezone.now()) + LASTS_AFTER)


def close_job_links(*, job_sheet: JobSheet) -> int:
    """Close the open links of a sheet; return how many there were."""
    return JobLink.objects.filter(job_sheet=job_sheet, revoked_at__isnull=True).update(revoked_at=timezone.now())
