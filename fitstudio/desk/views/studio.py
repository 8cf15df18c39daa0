"""The way into everything about the studio itself: what it asks, what it works with, what it has learned."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.selectors.catalogue import serving


@staff_page
@require_safe
def studio(request: HtmxRequest) -> HttpResponse:
    """Show the pages about the studio; an owner sees those that change it, too."""
    return render(request, "desk/studio/page.html", {"section": "studio", "serving": serving()})
