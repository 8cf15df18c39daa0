"""After a repair: whether what hurt has changed, one place at a time."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from intake.edge.http import HtmxRequest
from intake.forms.outcomes import OutcomeForm
from intake.selectors.outcomes import AfterRepair, after_repairs
from intake.selectors.previsit import check_list
from intake.services.outcomes import keep_outcome
from intake.views.door import Door, show, until_the_slot


def outcomes_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show every place that is asked about again, with what was said."""
    return show(request, door, "outcomes.html", {"after": _after(door)})


@until_the_slot
def outcome_page(request: HtmxRequest, door: Door, key: str) -> HttpResponse:
    """Ask about one place, or keep what is said."""
    places = _after(door)
    place = next((each for each in places if each.key == key), None)
    if place is None:
        raise Http404
    form = OutcomeForm(last=place.last, data=request.POST if request.method == "POST" else None)
    if not form.is_valid():
        return show(request, door, "outcome.html", {"place": place, "form": form}, status=422 if form.is_bound else 200)
    keep_outcome(pre_visit=door.pre_visit, session_slot=door.slot, after=place, score_now=form.said())
    messages.success(request, _thanks(form.said()))
    return redirect(door.url("outcomes"))


def _thanks(score_now: int | None) -> str:
    if score_now is None:
        return _("Noted. Come back to this page after a ride.")
    return _("Thank you. The studio sees it.")


def _after(door: Door) -> tuple[AfterRepair, ...]:
    return after_repairs(door.pre_visit, check_list(door.pre_visit, door.slot).given)
