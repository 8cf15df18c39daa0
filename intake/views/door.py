"""Who stands at a check: its rider by private link, or the desk for a caller. Both see the same pages."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps

from django.contrib.auth.base_user import AbstractBaseUser
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from intake.edge.http import HtmxRequest
from intake.models import PreVisitCheck, RiderLink
from intake.services.answers import CheckClosedError
from intake.slots import NoSlotError, SessionSlot, slot_of

PAGES = ("start", "sheet", "question", "discomfort", "place", "few", "finish", "advice")


@dataclass(frozen=True)
class Door:
    """A way into one check: the pages' addresses, their frame, and who is to be named beside an answer."""

    pre_visit: PreVisitCheck
    slot: SessionSlot
    area: str
    place: str | int
    by: AbstractBaseUser | None = None

    @property
    def is_desk(self) -> bool:
        """Return whether staff fill in for a caller."""
        return self.by is not None

    @property
    def base(self) -> str:
        """Return the template that frames the pages."""
        return "desk_base.html" if self.is_desk else "rider_base.html"

    @property
    def names(self) -> dict[str, str]:
        """Return the url names of the pages, for templates."""
        return {page: f"{self.area}:{page}" for page in PAGES}

    def url(self, page: str, *args: str) -> str:
        """Return the address of one of this check's pages."""
        return reverse(f"{self.area}:{page}", args=[self.place, *args])

    def go(self, page: str, *args: str, fragment: str = "", query: str = "") -> HttpResponse:
        """Send the browser to one of this check's pages, or to a part of it; ``query`` says which way it goes."""
        return redirect(self.url(page, *args) + query + (f"#{fragment}" if fragment else ""))

    @property
    def unit(self) -> str:
        """Return the unit in which this rider reads and types lengths."""
        return self.pre_visit.client.length_unit


def rider_door(link: RiderLink) -> Door:
    """Return the door that a private link opens."""
    return Door(link.pre_visit, _slot(link.pre_visit), "check", link.token)


def desk_door(request: HttpRequest, pk: int) -> Door:
    """Return the door through which staff fill in a rider's check, or a 404."""
    pre_visit = get_object_or_404(PreVisitCheck.objects.select_related("client", "bike"), pk=pk)
    return Door(pre_visit, _slot(pre_visit), "desk_check", pk, by=request.user)


def _slot(pre_visit: PreVisitCheck) -> SessionSlot:
    try:
        return slot_of(pre_visit.pk)
    except NoSlotError as missing:
        raise Http404 from missing


def show(
    request: HttpRequest, door: Door, template: str, context: dict[str, object] | None = None, status: int = 200
) -> HttpResponse:
    """Render one of the check's pages with what all of them need."""
    shared = {
        "door": door,
        "pre_visit": door.pre_visit,
        "slot": door.slot,
        "studio": {"name": door.slot.studio},
        "section": "clients",
    }
    return render(request, f"intake/check/{template}", shared | (context or {}), status=status)


Page = Callable[..., HttpResponse]


def until_the_slot(page: Page) -> Page:
    """Answer 409 with a plain sentence where something is to be changed once the session has begun."""

    @wraps(page)
    def guarded(request: HtmxRequest, door: Door, *args: str) -> HttpResponse:
        try:
            return page(request, door, *args)
        except CheckClosedError:
            return show(request, door, "closed.html", status=409)

    return guarded
