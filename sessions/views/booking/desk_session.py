"""One session at the desk: what was booked, the rider's link, and a change of time or state while the rider is on the line."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.selectors.links import full_address, newest_link
from sessions.diary.errors import MoveNotAllowedError
from sessions.diary.states import SessionState, can_move
from sessions.forms.booking.desk_session import MoveForm, StateForm, TellForm, desk_states
from sessions.forms.booking.weeks import WeekForm
from sessions.forms.starts import StartForm
from sessions.models import FitSession
from sessions.selectors.booking.offers import other_starts_to_move_to, week_to_move_to
from sessions.selectors.booking.sessions import session_at_desk
from sessions.services.booking.errors import DiaryRefusal
from sessions.services.booking.history import change_state
from sessions.services.booking.moves import cancel_session, move_session
from sessions.services.review.decisions import DecisionRefusal, confirm_session
from sessions.views.booking.attempts import INVALID
from sessions.views.rendering import render_at


@staff_page
@require_safe
def session(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one session as it was booked, its history, and what can be done with it."""
    fit_session = session_at_desk(pk)
    state = SessionState(fit_session.state)
    context = {
        "address": full_address(newest_link(fit_session.pre_visit)),
        "history": fit_session.history.select_related("changed_by"),
        "states": desk_states(fit_session),
        "can_move": can_move(state, SessionState.MOVED),
        "can_cancel": can_move(state, SessionState.CANCELLED),
    }
    return _page(request, fit_session, "session", context)


@staff_page
@require_POST
def state(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a state with one tap."""
    fit_session = session_at_desk(pk)
    form = StateForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("That is not a state that the desk can set."))
        return redirect("desk_booking:session", pk)
    try:
        _set_state(fit_session, SessionState(form.cleaned_data["to"]), request)
    except (DecisionRefusal, MoveNotAllowedError, DiaryRefusal) as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("The session is now: %(state)s.") % {"state": fit_session.get_state_display()})
    return redirect("desk_booking:session", pk)


def _set_state(fit_session: FitSession, to: SessionState, request: HttpRequest) -> None:
    """Confirm only what the review lets pass: red flags are read first."""
    if to is SessionState.CONFIRMED:
        confirm_session(fit_session=fit_session, by=request.user)
    else:
        change_state(fit_session=fit_session, to=to, by=request.user)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel a session, with words for the rider."""
    fit_session = session_at_desk(pk)
    form = TellForm(request.POST if request.method == "POST" else None)
    if request.method != "POST" or not form.is_valid():
        return _page(request, fit_session, "cancel", {"form": form}, status=INVALID if form.errors else 200)
    try:
        cancel_session(fit_session=fit_session, by=request.user, **form.cleaned_data)
    except MoveNotAllowedError as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("Cancelled. The rider is told by mail."))
    return redirect("desk_booking:session", pk)


@staff_page
@require_safe
def move(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show a week of starts that the session could have instead."""
    fit_session = session_at_desk(pk)
    week = week_to_move_to(fit_session, WeekForm(request.GET).wanted())
    context = {"week": week, "book_at": reverse("desk_booking:move_to", args=[pk])}
    if request.htmx:
        return render_at(fit_session.studio, request, "sessions/booking/_starts.html", context)
    return _page(request, fit_session, "move", context)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def move_to(request: HttpRequest, pk: int) -> HttpResponse:
    """Move a session to a chosen start, with words for the rider."""
    fit_session = session_at_desk(pk)
    if request.method == "POST":
        return _moved(request, fit_session)
    asked = StartForm(request.GET)
    if not asked.is_valid():
        messages.warning(request, _("That link names no time. Choose one here."))
        return redirect("desk_booking:move", pk)
    return _move_page(request, fit_session, MoveForm(initial=asked.cleaned_data))


def _moved(request: HttpRequest, fit_session: FitSession) -> HttpResponse:
    form = MoveForm(request.POST)
    wanted = None
    if form.is_valid():
        given = form.cleaned_data
        wanted = given["start"]
        try:
            move_session(
                fit_session=fit_session,
                new_start=wanted,
                by=request.user,
                note=given["note"],
                message=given["message"],
            )
        except MoveNotAllowedError as refusal:
            messages.error(request, str(refusal))
            return redirect("desk_booking:session", fit_session.pk)
        except DiaryRefusal as refusal:
            form.start_refused(refusal)
        else:
            messages.success(request, _("Moved. The rider is told by mail."))
            return redirect("desk_booking:session", fit_session.pk)
    if form.has_error("start"):
        form.offer(other_starts_to_move_to(fit_session, wanted), fit_session.studio.zone)
    return _move_page(request, fit_session, form, status=INVALID)


def _move_page(request: HttpRequest, fit_session: FitSession, form: MoveForm, *, status: int = 200) -> HttpResponse:
    return _page(request, fit_session, "move_to", {"form": form, "start": form.chosen_start()}, status=status)


def _page(
    request: HttpRequest, fit_session: FitSession, name: str, context: dict[str, object], *, status: int = 200
) -> HttpResponse:
    context |= {"fit_session": fit_session, "service": fit_session.service}
    return render_at(fit_session.studio, request, f"sessions/desk_booking/{name}.html", context, status=status)
