"""From rows to what a job sheet says: one builder for the page and the print."""

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from intake.models import JobAnswer
from sessions.models import FitSession
from sessions.selectors.letterhead import letterhead
from sessions.selectors.workshop.sheets import LineShown, SheetShown
from sessions.sheets.content import Bike, Paper, Rider
from sessions.sheets.job_sheet import JobLine, JobSheet


def job_sheet_of(found: SheetShown, fit_session: FitSession, *, paper: Paper | None = None) -> JobSheet:
    """Return what a sheet says now, without a query; of the rider only what they share."""
    studio, sheet, client = fit_session.studio, found.sheet, fit_session.client
    with timezone.override(studio.zone):
        return JobSheet(
            studio=letterhead(studio),
            bike=_bike(fit_session),
            number=str(sheet.pk),
            workshop=sheet.workshop_name,
            session=date_format(timezone.localtime(fit_session.starts_at), "D j M Y, H:i"),
            lines=tuple(_line(line) for line in found.lines),
            address=found.address,
            rider=Rider(client.name, client.latin_name) if sheet.share_name else None,
            rider_contact=found.rider_contact,
            start_by=date_format(found.start_by, "l j F") if found.start_by else "",
            note=sheet.note,
            date=date_format(timezone.localtime(sheet.created_at), "j F Y"),
            paper=paper or studio.paper,
            language=get_language() or "en",
        )


def _bike(fit_session: FitSession) -> Bike:
    bike = fit_session.bike
    parts = [str(bike.get_kind_display()), bike.frame_size]
    return Bike(bike.name, ", ".join(part for part in parts if part))


def _line(found: LineShown) -> JobLine:
    line = found.line
    return JobLine(
        title=line.title,
        wrong=line.wrong,
        needs=tuple(found.needs),
        work=line.work,
        part=line.part,
        start_by=date_format(found.start_by, "l j F"),
        caution=line.caution,
        not_to_ride=line.not_to_ride,
        answers=tuple(answer_sentence(answer) for answer in found.answers),
    )


def answer_sentence(answer: JobAnswer) -> str:
    """Return one answer as one line: when, who, what, and the note."""
    said = _("%(when)s, %(who)s: %(outcome)s.") % {
        "when": date_format(timezone.localtime(answer.answered_at), "j M, H:i"),
        "who": answer.answered_by,
        "outcome": answer.get_outcome_display(),
    }
    return f"{said} {answer.note}".strip()
