"""A rider's private link: the home of one session, and its calendar file."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from intake.edge.access import rider_page
from intake.models import RiderLink
from intake.slots import slot_of
from sessions.selectors.booking.preparation import preparation_of
from sessions.selectors.booking.sessions import session_of_check
from sessions.services.booking.invitations import Method, calendar_file, invitation_of
from sessions.views.rendering import render_at


@rider_page
@require_safe
def home(request: HttpRequest, link: RiderLink) -> HttpResponse:
    """Say where the session stands, and what the rider does next."""
    fit_session = session_of_check(link.pre_visit_id)
    context = {
        "link": link,
        "fit_session": fit_session,
        "service": fit_session.service,
        "preparation": preparation_of(link.pre_visit, slot_of(link.pre_visit_id)),
    }
    return render_at(fit_session.studio, request, "sessions/rider/home.html", context)


@rider_page
@require_safe
def invitation(request: HttpRequest, link: RiderLink) -> HttpResponse:
    """Give the session as a calendar file."""
    fit_session = session_of_check(link.pre_visit_id)
    response = HttpResponse(
        calendar_file(invitation_of(fit_session), Method.PUBLISH),
        content_type=f"text/calendar; charset=utf-8; method={Method.PUBLISH.value}",
    )
    day = fit_session.starts_at.astimezone(fit_session.studio.zone).date()
    response["Content-Disposition"] = f'attachment; filename="session-{day.isoformat()}.ics"'
    return response
