"""The desk fills in the pre-visit check for a caller, on the same pages as the rider."""

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.views.advice import advice_page, finish_page
from intake.views.discomfort import discomfort_page, place_page
from intake.views.door import desk_door
from intake.views.questions import question_page, sheet_page
from intake.views.repairs import photo_file
from intake.views.start import start_page


@staff_page
@require_safe
def start(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show the list of steps."""
    return start_page(request, desk_door(request, pk))


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def question(request: HtmxRequest, pk: int, key: str) -> HttpResponse:
    """Show or answer one question."""
    return question_page(request, desk_door(request, pk), key)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def discomfort(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show what hurts."""
    return discomfort_page(request, desk_door(request, pk))


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HtmxRequest, pk: int, key: str) -> HttpResponse:
    """Show or say how one place feels."""
    return place_page(request, desk_door(request, pk), key)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def finish(request: HtmxRequest, pk: int) -> HttpResponse:
    """Hand the check in."""
    return finish_page(request, desk_door(request, pk))


@staff_page
@require_safe
def advice(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show what to do before the session."""
    return advice_page(request, desk_door(request, pk))


@staff_page
@require_safe
def sheet(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show every question on one page, for a telephone call."""
    return sheet_page(request, desk_door(request, pk))


@staff_page
@require_safe
def photo(request: HtmxRequest, pk: int, photo_pk: int) -> HttpResponse:
    """Show one of the rider's photos."""
    return photo_file(photo_pk, pk)
