"""Confirm what riders and workshops report as put right, or say not yet: one tap."""

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.forms.review.repairs import RepairAnswerForm
from sessions.selectors.review.given_answers import slug_of
from sessions.services.review.decisions import DecisionRefusal
from sessions.services.review.repairs import answer_repair
from sessions.views.review.answer import decided, reviewed, show_session


@staff_page
@require_POST
def answer(request: HtmxRequest, pk: int) -> HttpResponse:
    """Keep the studio's word on a reported repair and judge the session afresh."""
    fit_session, form = reviewed(pk), RepairAnswerForm(request.POST)
    if not form.is_valid():
        return show_session(request, fit_session, refused=form)
    key = form.cleaned_data["finding"]
    try:
        answer_repair(
            fit_session=fit_session, key=key, agreed=form.agreed, note=form.cleaned_data["note"], by=request.user
        )
    except DecisionRefusal as refusal:
        form.add_error(None, str(refusal))
        return show_session(request, fit_session, refused=form)
    sentence = _("Confirmed: it has been put right.") if form.agreed else _("Kept as not yet put right.")
    return decided(request, pk, sentence, anchor=f"finding-{slug_of(key)}")
