"""A rider's private link: the home of one session, and its calendar file."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from intake.edge.access import rider_page
from intake.models import RiderLink
from intake.slots import slot_of
from sessions.diary.errors import MoveNotAllowedError
from sessions.selectors.booking.preparation import preparation_of
from sessions.selectors.booking.sessions import session_of_check
from sessions.services.booking.errors import RedFlagsUnreadError
from sessions.services.booking.invitations import Method, calendar_file, invitation_of
from sessions.services.review.decisions import confirm_session
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
@require_POST
def confirm(request: HttpRequest, link: RiderLink) -> HttpResponse:
    """Keep that the rider is coming."""
    try:
        confirm_session(fit_session=session_of_check(link.pre_visit_id), by=None)
    except RedFlagsUnreadError:
        messages.info(
            request, _("Thank you. The studio will speak to you about your answers first, and confirms it then.")
        )
    except MoveNotAllowedError:
        messages.info(request, _("There is nothing to confirm any more. This page shows the session as it is now."))
    else:
        messages.success(request, _("Thank you. The studio knows that you are coming."))
    return redirect("rider:home", link.token)


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
