"""Agree on a plan with one tap; the letter about it is next."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.forms.review.plans import PlanForm
from sessions.models import SlotChoice
from sessions.services.review.decisions import DecisionRefusal
from sessions.services.review.plans import agree_on_plan
from sessions.views.review.answer import reviewed, show_session


@staff_page
@require_POST
def agree(request: HtmxRequest, pk: int) -> HttpResponse:
    """Keep the rulings of a plan and lead on to the letter to the rider, made from it."""
    fit_session, form = reviewed(pk), PlanForm(request.POST)
    if not form.is_valid():
        return show_session(request, fit_session, refused=form)
    key = form.cleaned_data["plan"]
    try:
        agree_on_plan(fit_session=fit_session, key=key, by=request.user)
    except DecisionRefusal as refusal:
        form.add_error(None, str(refusal))
        return show_session(request, fit_session, refused=form)
    messages.success(request, _("The plan is agreed. The mail to the rider is made from it; change it as you like."))
    response = redirect("review:slot", pk, SlotChoice.KEEP.value)
    response["Location"] += "?" + urlencode({"plan": key})
    return response
