"""A job sheet as a file, for whoever asks."""

from django.http import HttpRequest, HttpResponse

from sessions.models import FitSession
from sessions.selectors.workshop.sheet_content import job_sheet_of
from sessions.selectors.workshop.sheets import SheetShown
from sessions.sheets.job_sheet import job_sheet_pdf
from sessions.views.fit_sheet import PaperForm


def print_sheet(request: HttpRequest, found: SheetShown, fit_session: FitSession) -> HttpResponse:
    """Return the print on the paper asked for, the studio's own otherwise."""
    paper = PaperForm(request.GET).wanted(fit_session.studio.paper)
    content = job_sheet_of(found, fit_session, paper=paper)
    response = HttpResponse(job_sheet_pdf(content), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="job-sheet-{found.sheet.pk}.pdf"'
    return response
