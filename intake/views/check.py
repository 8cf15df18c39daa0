"""The rider's way into the pre-visit check, by private link."""

from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_safe

from intake.edge.access import rider_page
from intake.edge.http import HtmxRequest
from intake.models import RiderLink
from intake.views.advice import advice_page, finish_page
from intake.views.discomfort import discomfort_page, place_page
from intake.views.door import rider_door
from intake.views.few import few_page
from intake.views.outcomes import outcome_page, outcomes_page
from intake.views.questions import question_page, sheet_page
from intake.views.start import start_page


@rider_page
@require_safe
def start(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show the list of steps."""
    return start_page(request, rider_door(link))


@rider_page
@require_safe
def sheet(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show every question on one page."""
    return sheet_page(request, rider_door(link))


@rider_page
@require_http_methods(["GET", "HEAD", "POST"])
def question(request: HtmxRequest, link: RiderLink, key: str) -> HttpResponse:
    """Show or answer one question."""
    return question_page(request, rider_door(link), key)


@rider_page
@require_http_methods(["GET", "HEAD", "POST"])
def discomfort(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show what hurts."""
    return discomfort_page(request, rider_door(link))


@rider_page
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HtmxRequest, link: RiderLink, key: str) -> HttpResponse:
    """Show or say how one place feels."""
    return place_page(request, rider_door(link), key)


@rider_page
@require_safe
def few(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show the few questions that the desk asked for."""
    return few_page(request, rider_door(link))


@rider_page
@require_safe
def outcomes(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show what is asked again after a repair."""
    return outcomes_page(request, rider_door(link))


@rider_page
@require_http_methods(["GET", "HEAD", "POST"])
def outcome(request: HtmxRequest, link: RiderLink, key: str) -> HttpResponse:
    """Show or say whether one place has changed after a repair."""
    return outcome_page(request, rider_door(link), key)


@rider_page
@require_http_methods(["GET", "HEAD", "POST"])
def finish(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Hand the check in."""
    return finish_page(request, rider_door(link))


@rider_page
@require_safe
def advice(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show what to do before the session."""
    return advice_page(request, rider_door(link))
