"""From where verdicts change, studio by studio."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from fitstudio.catalogue.forms.thresholds import ThresholdsForm
from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from sessions.models import Studio
from sessions.selectors.review.what_if import what_if
from sessions.services.review.thresholds import save_thresholds


@owner_page
@require_safe
def studios(request: HtmxRequest) -> HttpResponse:
    """List the studios, or go to the only one."""
    found = list(Studio.objects.all())
    if len(found) == 1:
        return redirect("catalogue:studio_thresholds", found[0].slug)
    return render(request, "catalogue/studios.html", {"section": "studio", "studios": found})


@owner_page
@require_http_methods(["GET", "HEAD", "POST"])
def thresholds(request: HtmxRequest, studio_slug: str) -> HttpResponse:
    """Show the five thresholds; show which verdicts others would move, or keep them."""
    studio = get_object_or_404(Studio, slug=studio_slug)
    form = ThresholdsForm(studio, data=request.POST or None)
    context = {"section": "studio", "studio": studio, "form": form}
    if request.method == "POST" and form.is_valid():
        if request.POST.get("do") != "look":
            save_thresholds(studio=studio, thresholds=form.thresholds)
            messages.success(request, _("Kept. Coming sessions are judged by them from now on."))
            return redirect("catalogue:studio_thresholds", studio.slug)
        context["what_if"] = what_if(studio=studio, thresholds=form.thresholds)
    return render(request, "catalogue/thresholds.html", context, status=422 if form.errors else 200)
