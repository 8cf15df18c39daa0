"""Decide about findings, acknowledge red flags, confirm the session: one tap each."""

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.triage.engine import Triage
from sessions.diary.errors import DiaryError
from sessions.forms.review.decisions import ConfirmForm, RedFlagForm, RulingForm
from sessions.selectors.review.given_answers import slug_of
from sessions.selectors.review.rulings import ruling_words
from sessions.selectors.review.words import percent_words
from sessions.services.booking.errors import DiaryRefusal
from sessions.services.review.decisions import DecisionRefusal, acknowledge_red_flags, confirm_session, rule_on_finding
from sessions.views.review.answer import decided, reviewed, show_session


@staff_page
@require_POST
def rule(request: HtmxRequest, pk: int) -> HttpResponse:
    """Keep a decision on a finding and judge the session afresh."""
    fit_session, form = reviewed(pk), RulingForm(request.POST)
    if not form.is_valid():
        return show_session(request, fit_session, refused=form)
    key, ruling = form.cleaned_data["finding"], form.chosen()
    try:
        result = rule_on_finding(
            fit_session=fit_session, key=key, ruling=ruling, note=form.cleaned_data["note"], by=request.user
        )
    except DecisionRefusal as refusal:
        form.add_error(None, str(refusal))
        return show_session(request, fit_session, refused=form)
    what = ruling_words(key, ruling) if ruling else _("decision taken back")
    sentence = f"{_title(result, key)}: {what}. {_now(result)}"
    return decided(request, pk, sentence, anchor=f"finding-{slug_of(key)}")


def _title(result: Triage, key: str) -> str:
    titles = {finding.key: finding.title for finding in result.findings}
    titles |= {unknown.check.key: unknown.check.title.rstrip(". ") for unknown in result.unknowns}
    return titles.get(key, key)


def _now(result: Triage) -> str:
    return _("Readiness is now %(readiness)s, chance to run to plan %(chance)s.") % {
        "readiness": percent_words(result.forecast.readiness_pct),
        "chance": percent_words(100 * result.forecast.chance),
    }


@staff_page
@require_POST
def acknowledge(request: HtmxRequest, pk: int) -> HttpResponse:
    """Keep that the red flags were read, and what was agreed."""
    fit_session, form = reviewed(pk), RedFlagForm(request.POST)
    if not form.is_valid():
        return show_session(request, fit_session, refused=form)
    try:
        acknowledge_red_flags(
            fit_session=fit_session, note=form.cleaned_data["note"], seen=form.keys_seen(), by=request.user
        )
    except DecisionRefusal as refusal:
        form.add_error(None, str(refusal))
        return show_session(request, fit_session, refused=form)
    return decided(request, pk, _("Your note on the red flags is kept."), anchor="red-flags")


@staff_page
@require_POST
def confirm(request: HtmxRequest, pk: int) -> HttpResponse:
    """Confirm the session once every red flag is acknowledged."""
    fit_session, form = reviewed(pk), ConfirmForm(request.POST)
    try:
        confirm_session(fit_session=fit_session, by=request.user)
    except (DecisionRefusal, DiaryError, DiaryRefusal) as refusal:
        form.add_error(None, str(refusal))
        return show_session(request, fit_session, refused=form)
    return decided(request, pk, _("The session is confirmed."), anchor="slot")
