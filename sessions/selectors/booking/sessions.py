"""Services on offer, and sessions with all that their pages show."""

from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404

from sessions.models import FitSession, Service, Studio

SHOWN = ("studio", "service", "client", "bike", "fitter", "bay", "pre_visit__client", "pre_visit__bike")


def open_studios() -> QuerySet[Studio]:
    """Return the studios that take bookings, each with its ``offered`` services."""
    offered = Service.objects.filter(is_active=True).order_by("position", "name")
    return Studio.objects.filter(is_active=True).prefetch_related(
        Prefetch("services", queryset=offered, to_attr="offered")
    )


def bookable() -> QuerySet[Service]:
    """Return the services that can be booked."""
    return Service.objects.filter(is_active=True, studio__is_active=True).select_related("studio")


def offered_service(studio_slug: str, service_slug: str) -> Service:
    """Return the service of a public address, or 404."""
    return get_object_or_404(bookable(), studio__slug=studio_slug, slug=service_slug)


def session_of_check(pre_visit_id: int) -> FitSession:
    """Return the session of a rider's check with all that its pages show, or 404."""
    related = FitSession.objects.select_related(*SHOWN, "fit_record")
    return get_object_or_404(related, pre_visit_id=pre_visit_id)


def session_at_desk(pk: int) -> FitSession:
    """Return a session with all that the desk shows of it, or 404."""
    related = FitSession.objects.select_related(*SHOWN)
    return get_object_or_404(related, pk=pk)
