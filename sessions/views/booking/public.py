"""Book a session: choose what, choose when, say who."""

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from intake.edge.access import public_page
from intake.edge.http import HtmxRequest
from sessions.forms.booking.rider import BookingForm, PublicBookingForm
from sessions.forms.booking.weeks import WeekForm
from sessions.forms.starts import StartForm
from sessions.models import Service
from sessions.selectors.booking.offers import other_starts, week_on_offer
from sessions.selectors.booking.places import find_place
from sessions.selectors.booking.sessions import offered_service, open_studios
from sessions.services.booking.errors import DiaryRefusal
from sessions.views.booking.attempts import INVALID, try_to_book
from sessions.views.rendering import render_at

CONFLICT = 409


@public_page
@require_safe
def services(request: HttpRequest) -> HttpResponse:
    """Show every studio and what can be booked there."""
    studios = list(open_studios())
    only = studios[0] if len(studios) == 1 else None
    return render(request, "sessions/booking/services.html", {"studios": studios, "only": only, "studio": only})


@public_page
@require_safe
def starts(request: HtmxRequest, studio_slug: str, service_slug: str) -> HttpResponse:
    """Show a week of free starts."""
    service = offered_service(studio_slug, service_slug)
    week = week_on_offer(service, WeekForm(request.GET).wanted())
    template = "sessions/booking/_starts.html" if request.htmx else "sessions/booking/starts.html"
    return render_at(
        service.studio,
        request,
        template,
        {"service": service, "week": week, "book_at": reverse("booking:details", args=[studio_slug, service_slug])},
    )


@public_page
@require_http_methods(["GET", "HEAD", "POST"])
def details(request: HttpRequest, studio_slug: str, service_slug: str) -> HttpResponse:
    """Ask who comes with which bike to a chosen start, and book it."""
    service = offered_service(studio_slug, service_slug)
    if request.method == "POST":
        return _booked(request, service)
    asked = StartForm(request.GET)
    if not asked.is_valid():
        messages.warning(request, _("That link names no time. Choose one here."))
        return redirect("booking:starts", studio_slug, service_slug)
    start = asked.cleaned_data["start"]
    try:
        find_place(service, start)
    except DiaryRefusal as refusal:
        return _gone(request, service, start, refusal)
    return _form_page(request, service, PublicBookingForm(studio=service.studio, initial={"start": start}))


def _booked(request: HttpRequest, service: Service) -> HttpResponse:
    form = PublicBookingForm(request.POST, studio=service.studio)
    booking = try_to_book(form, service)
    if booking is None:
        return _form_page(request, service, form, status=INVALID)
    sent_to = form.cleaned_data["email"]
    messages.success(request, _("Your session is booked. The confirmation goes to %(email)s.") % {"email": sent_to})
    return redirect(booking.link)


def _form_page(request: HttpRequest, service: Service, form: BookingForm, *, status: int = 200) -> HttpResponse:
    context = {"service": service, "form": form, "start": form.chosen_start()}
    return render_at(service.studio, request, "sessions/booking/details.html", context, status=status)


def _gone(request: HttpRequest, service: Service, start: datetime, refusal: DiaryRefusal) -> HttpResponse:
    context = {"service": service, "refusal": refusal, "others": other_starts(service, start)}
    return render_at(service.studio, request, "sessions/booking/gone.html", context, status=CONFLICT)
