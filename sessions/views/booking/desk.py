"""The desk books for a caller: whom, what, when, and the rider's details where they are new."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.forms.booking.desk_booking import CallerForm, DeskBookingForm, PlaceForm
from sessions.forms.booking.weeks import WeekForm
from sessions.forms.starts import StartForm
from sessions.models import Service
from sessions.selectors.booking.callers import found_callers
from sessions.selectors.booking.offers import week_on_offer
from sessions.selectors.booking.sessions import bookable, open_studios
from sessions.views.booking.attempts import INVALID, try_to_book
from sessions.views.rendering import render_at


@staff_page
@require_safe
def start(request: HtmxRequest) -> HttpResponse:
    """Find the caller, or go on without, and choose a service."""
    form = CallerForm(request.GET)
    given = form.cleaned_data if form.is_valid() else {}
    context = {
        "form": form,
        "caller": given.get("client"),
        "typed": given.get("q", ""),
        "found": found_callers(given.get("q", "")),
        "studios": open_studios(),
    }
    template = "sessions/desk_booking/_callers.html" if request.htmx else "sessions/desk_booking/start.html"
    return render(request, template, context, status=INVALID if form.errors else 200)


@staff_page
@require_safe
def starts(request: HtmxRequest, service_pk: int) -> HttpResponse:
    """Show a week of free starts, also at shorter notice than riders may book."""
    service = get_object_or_404(bookable(), pk=service_pk)
    form = PlaceForm(request.GET, studio=service.studio)
    context = {
        "service": service,
        "caller": form.caller(),
        "form": form,
        "week": week_on_offer(service, WeekForm(request.GET).wanted(), with_notice=False, **form.named()),
        "book_at": reverse("desk_booking:details", args=[service_pk]),
    }
    template = "sessions/booking/_starts.html" if request.htmx else "sessions/desk_booking/starts.html"
    return render_at(service.studio, request, template, context)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def details(request: HttpRequest, service_pk: int) -> HttpResponse:
    """Take the rider's details and book."""
    service = get_object_or_404(bookable(), pk=service_pk)
    if request.method == "POST":
        return _booked(request, service)
    asked = StartForm(request.GET)
    if not asked.is_valid():
        messages.warning(request, _("That link names no time. Choose one here."))
        return redirect("desk_booking:starts", service_pk)
    place = PlaceForm(request.GET, studio=service.studio)
    named = place.named()
    initial = {"start": asked.cleaned_data["start"], "fitter": named["fitter_id"], "bay": named["bay_id"]}
    form = DeskBookingForm(service=service, client=place.caller(), initial=initial)
    return _form_page(request, service, form)


def _booked(request: HttpRequest, service: Service) -> HttpResponse:
    form = DeskBookingForm(
        request.POST, service=service, client=PlaceForm(request.POST, studio=service.studio).caller()
    )
    booking = try_to_book(form, service, by=request.user, with_notice=False)
    if booking is None:
        return _form_page(request, service, form, status=INVALID)
    messages.success(request, _("Booked. The confirmation goes to %(to)s.") % {"to": booking.fit_session.client.email})
    return redirect("desk_booking:session", booking.fit_session.pk)


def _form_page(request: HttpRequest, service: Service, form: DeskBookingForm, *, status: int = 200) -> HttpResponse:
    context = {"service": service, "form": form, "caller": form.client, "start": form.chosen_start()}
    return render_at(service.studio, request, "sessions/desk_booking/details.html", context, status=status)
