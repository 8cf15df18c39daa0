"""The check on paper, for a rider who would rather write."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from intake.edge.access import rider_page, staff_page
from intake.models import RiderLink
from sessions.models import FitSession
from sessions.selectors.booking.paper_form import paper_form_of
from sessions.selectors.booking.sessions import session_at_desk, session_of_check
from sessions.sheets.paper_form import paper_form_pdf


@rider_page
@require_safe
def for_rider(request: HttpRequest, link: RiderLink) -> HttpResponse:
    """Give the rider their own form."""
    return _pdf(session_of_check(link.pre_visit_id))


@staff_page
@require_safe
def for_desk(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the desk the form of a session's rider."""
    return _pdf(session_at_desk(pk))


def _pdf(fit_session: FitSession) -> HttpResponse:
    response = HttpResponse(paper_form_pdf(paper_form_of(fit_session)), content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="bike-check.pdf"'
    return response
