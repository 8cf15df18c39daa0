"""Hand the check in, and read what to do before the session, for the rider and for the desk."""

from django.contrib import messages
from django.http import HttpResponse
from django.utils.translation import gettext as _

from intake.edge.http import HtmxRequest
from intake.forms.submission import SubmissionForm
from intake.selectors.advice import advice_of
from intake.selectors.previsit import check_list
from intake.selectors.repair_marks import repaired
from intake.services.submission import NothingAnsweredError, submit
from intake.views.door import Door, show, until_the_slot


@until_the_slot
def finish_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show what is still open and hand the check in."""
    if request.method != "POST":
        return _show_finish(request, door, SubmissionForm(initial={"note": door.pre_visit.note}))
    form = SubmissionForm(request.POST)
    if not form.is_valid():
        return _show_finish(request, door, form, status=422)
    try:
        submit(pre_visit=door.pre_visit, session_slot=door.slot, note=form.cleaned_data["note"])
    except NothingAnsweredError:
        form.add_error(None, _("Nothing is answered yet. Answer at least one question first."))
        return _show_finish(request, door, form, status=422)
    messages.success(request, _thanks(door))
    return door.go("advice")


def _thanks(door: Door) -> str:
    if door.is_desk:
        return _("Handed in. The advice below is on its way to %(email)s.") % {"email": door.pre_visit.client.email}
    return _("Thank you. The studio has your check, and the advice below is on its way to you by mail.")


def _show_finish(request: HtmxRequest, door: Door, form: SubmissionForm, status: int = 200) -> HttpResponse:
    context = {"form": form, "checks": check_list(door.pre_visit, door.slot)}
    return show(request, door, "finish.html", context, status=status)


def advice_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show what to do before the session, as far as the answers go."""
    checks = check_list(door.pre_visit, door.slot)
    context = {
        "checks": checks,
        "advice": advice_of(checks.triage, checks.given.catalogue),
        "repaired": (done := repaired(checks)),
        "reported": {each.finding.key for each in done},
    }
    return show(request, door, "advice.html", context)
