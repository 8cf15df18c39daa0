"""Job sheets as their pages show them: lines with their last days, answers in the order in which they came, the open link."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.db.models import Prefetch, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from intake.models import JobAnswer, JobLine, JobLink, JobLinkRequest, JobSheet, PreVisitCheck
from intake.models.workshops import JobOutcome
from intake.selectors.triage import MONDAY_TO_FRIDAY
from intake.slots import SessionSlot
from intake.triage.deadlines import fix_by
from intake.triage.errors import NoWorkingDayError


@dataclass(frozen=True)
class LineShown:
    """One line with its last day to start and all that was answered, the latest last."""

    line: JobLine
    start_by: date
    answers: tuple[JobAnswer, ...]

    @property
    def latest(self) -> JobAnswer | None:
        """Return the answer in force."""
        return self.answers[-1] if self.answers else None

    @property
    def earlier(self) -> tuple[JobAnswer, ...]:
        """Return the answers before the one in force."""
        return self.answers[:-1]

    @property
    def is_done(self) -> bool:
        """Return whether the workshop says that it is done."""
        return self.latest is not None and self.latest.outcome == JobOutcome.DONE

    @property
    def needs(self) -> list[str]:
        """Return what the session needs, sentence by sentence."""
        return self.line.needs.splitlines()

    @property
    def ways(self) -> list[str]:
        """Return the usual ways to put it right."""
        return self.line.work.splitlines()


@dataclass(frozen=True)
class SheetShown:
    """A job sheet with its lines, and the link that opens it, if one does."""

    sheet: JobSheet
    lines: tuple[LineShown, ...]
    link: JobLink | None
    requests: tuple[JobLinkRequest, ...]

    @property
    def start_by(self) -> date | None:
        """Return the first of the last days of what is not done yet."""
        return min((shown.start_by for shown in self.lines if not shown.is_done), default=None)

    @property
    def done(self) -> int:
        """Return how many lines are done."""
        return sum(shown.is_done for shown in self.lines)

    @property
    def hindered(self) -> tuple[LineShown, ...]:
        """Return the lines that wait for a part or cannot be done."""
        return tuple(shown for shown in self.lines if shown.latest and not shown.is_done)

    @property
    def newest_link(self) -> JobLink | None:
        """Return the link that was made last, open or closed."""
        return max(self.sheet.links.all(), key=lambda link: link.pk, default=None)

    @property
    def asked_for_link(self) -> JobLinkRequest | None:
        """Return the latest request for a new link that none has been made for since."""
        latest = self.requests[0] if self.requests else None
        newest = self.newest_link
        return latest if latest and (newest is None or latest.asked_at > newest.created_at) else None

    @property
    def address(self) -> str:
        """Return the full address that the workshop opens, nothing where the link is closed."""
        return full_address(self.link)

    @property
    def shared(self) -> tuple[str, ...]:
        """Return in words what the rider has agreed that the workshop may know."""
        sheet = self.sheet
        words = {_("name"): sheet.share_name, _("telephone"): sheet.share_phone, _("e-mail"): sheet.share_email}
        return tuple(word for word, agreed in words.items() if agreed)

    @property
    def rider_contact(self) -> tuple[str, ...]:
        """Return what the rider has agreed that the workshop may know, less their name."""
        client = self.sheet.pre_visit.client
        phone = client.phone.as_international if self.sheet.share_phone and client.phone else ""
        return tuple(part for part in (phone, client.email if self.sheet.share_email else "") if part)


def full_address(link: JobLink | None) -> str:
    """Return the full address of the page that a link opens, nothing without a link."""
    return settings.SITE_URL + reverse("workshop:sheet", args=[link.token]) if link else ""


def job_sheets() -> QuerySet[JobSheet]:
    """Return job sheets with all that their pages show: five queries, however many there are."""
    lines = JobLine.objects.order_by("position").prefetch_related("answers")
    return JobSheet.objects.select_related("pre_visit__client", "pre_visit__bike", "created_by").prefetch_related(
        Prefetch("lines", lines), "links", "requests"
    )


def sheets_of_check(pre_visit: PreVisitCheck, session_slot: SessionSlot) -> tuple[SheetShown, ...]:
    """Return the sheets of one check, the newest first."""
    return tuple(shown(sheet, session_slot) for sheet in job_sheets().filter(pre_visit=pre_visit))


def shown(sheet: JobSheet, session_slot: SessionSlot) -> SheetShown:
    """Return a sheet from `job_sheets` as its pages show it; last days follow the session where it was moved."""
    lines = tuple(
        LineShown(line, _start_by(line.lead_days, session_slot), tuple(line.answers.all()))
        for line in sheet.lines.all()
    )
    return SheetShown(sheet, lines, _open_link(sheet.links.all(), session_slot), tuple(sheet.requests.all()))


def _open_link(links: Iterable[JobLink], session_slot: SessionSlot) -> JobLink | None:
    now = timezone.now()
    return next((link for link in links if link.is_open_at(now, session_slot.starts_at)), None)


def _start_by(lead_days: int, session_slot: SessionSlot) -> date:
    slot = session_slot.slot
    try:
        return fix_by(slot.starts_on, lead_days, slot.working_days)
    except NoWorkingDayError:
        return fix_by(slot.starts_on, lead_days, MONDAY_TO_FRIDAY)
