"""The few questions that the desk asked a rider for: which they are, and at the end what the answers mean."""

from django.http import HttpResponse
from django.shortcuts import redirect

from intake.edge.http import HtmxRequest
from intake.selectors.advice import advice_of
from intake.selectors.previsit import check_list
from intake.selectors.question_requests import few_questions
from intake.views.door import Door, show
from intake.views.stops import has_stopped, show_stop


def few_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show what is still asked for, or thanks and the advice as it is now; without a request there is nothing to show."""
    checks = check_list(door.pre_visit, door.slot)
    few = few_questions(checks)
    if not few.steps:
        return redirect(door.url("start"))
    if has_stopped(door, checks):
        return show_stop(request, door, checks)
    context = {"checks": checks, "few": few, "advice": advice_of(checks.triage, checks.given.catalogue)}
    return show(request, door, "few.html", context)
