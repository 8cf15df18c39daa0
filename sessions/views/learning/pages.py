"""The owner's two pages of learning."""

from http import HTTPStatus

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from intake.services.experience import save_weights
from sessions.forms.learning.weights import WeightsForm
from sessions.selectors.learning.calibration import calibration, costs
from sessions.selectors.learning.experience import SORTS, experience_page
from sessions.sheets.pit_view import PitWords, pit_view
from sessions.sheets.svg import scene_svg


@owner_page
@require_safe
def experience(request: HtmxRequest) -> HttpResponse:
    """Show each fault's starting estimates, own counts, and both together."""
    return _experience(request)


@owner_page
@require_POST
def weights(request: HtmxRequest) -> HttpResponse:
    """Keep how much the starting estimates weigh."""
    form = WeightsForm(request.POST)
    if not form.is_valid():
        return _experience(request, form, HTTPStatus.UNPROCESSABLE_ENTITY)
    save_weights(weights=form.weights())
    messages.success(request, _("Every forecast from now on reckons with these weights."))
    return redirect("learning:experience")


def _experience(request: HtmxRequest, form: WeightsForm | None = None, status: int = 200) -> HttpResponse:
    page = experience_page(request.GET.get("sort", ""))
    form = form or WeightsForm(initial={"sessions": int(page.weights.sessions), "faults": int(page.weights.faults)})
    context = {"page": page, "form": form, "sorts": SORTS.items(), "section": "studio"}
    return render(request, "sessions/learning/experience.html", context, status=status)


@owner_page
@require_safe
def forecasts(request: HtmxRequest) -> HttpResponse:
    """Show whether forecasts came true, and which faults cost most minutes."""
    found = calibration()
    context = {"calibration": found, "costs": costs(timezone.localdate()), "section": "studio"}
    if found.sessions:
        scene = pit_view(found.pit, found.sessions, words=_pit_words())
        context["pit"] = mark_safe(scene_svg(scene, ident="pit"))
    return render(request, "sessions/learning/calibration.html", context)


def _pit_words() -> PitWords:
    return PitWords(
        title=_("Where the actual minutes fell in their forecasts"),
        description=_(
            "{sessions} sessions by tenths of their forecasts, from fewer minutes than expected to more: {shares} per cent. "
            "Level would be 10 each."
        ),
        level=_("level"),
        few=_("fewer minutes than expected"),
        many=_("more than expected"),
    )
