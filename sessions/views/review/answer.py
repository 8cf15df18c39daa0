"""The page of one reviewed session as an answer: whole, or as the part that changes in place."""

from collections.abc import Iterable

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.safestring import mark_safe

from intake.edge.http import HtmxRequest
from sessions.forms.review.decisions import RedFlagForm, RulingForm
from sessions.forms.review.repairs import RepairAnswerForm
from sessions.forms.review.rider_letters import FewForm
from sessions.forms.review.slot import SlotForm
from sessions.models import FitSession
from sessions.selectors.review.finding_cards import FindingCard
from sessions.selectors.review.forecast_table import forecast_table
from sessions.selectors.review.page import ReviewPage, review_page, reviewed_sessions
from sessions.selectors.review.unknown_cards import UnknownCard
from sessions.sheets.forecast_view import forecast_view
from sessions.sheets.svg import scene_svg
from sessions.views.rendering import render_at

Card = FindingCard | UnknownCard


def reviewed(pk: int) -> FitSession:
    """Return a session with what its page shows, or answer 404."""
    return get_object_or_404(reviewed_sessions(), pk=pk)


def show_session(request: HtmxRequest, fit_session: FitSession, *, refused: forms.Form | None = None) -> HttpResponse:
    """Show the page; a refused form stands on it with its errors and with what was typed."""
    page = review_page(fit_session)
    template = "sessions/review/_session.html" if request.htmx else "sessions/review/session.html"
    return render_at(fit_session.studio, request, template, _context(page, refused), status=422 if refused else 200)


def decided(request: HtmxRequest, pk: int, sentence: str, *, anchor: str = "") -> HttpResponse:
    """Say what was decided and show the session as it is now: in place, or after a redirect to the place on the page."""
    messages.success(request, sentence)
    if request.htmx:
        return show_session(request, reviewed(pk))
    response = redirect("review:session", pk)
    response["Location"] += f"#{anchor}" if anchor else ""
    return response


def _context(page: ReviewPage, refused: forms.Form | None) -> dict[str, object]:
    return {
        "page": page,
        "fit_session": page.fit_session,
        "triage": page.triage,
        "options": page.options,
        "flags": _with_forms(page.flag_cards, refused),
        "repairs": [
            (each, RepairAnswerForm(initial={"finding": each.finding.key}, auto_id=False)) for each in page.repairs
        ],
        "findings": _with_forms(page.findings, refused),
        "ask_first": _with_forms(page.ask_first, refused),
        "ask_later": _with_forms(page.ask_later, refused),
        "flag_form": _flag_form(page, refused),
        "refused": refused,
        "forecast": _picture(page),
        "forecast_table": forecast_table(page.triage.forecast),
        "slot_form": _slot_form(page),
        "few_form": FewForm(initial={"keys": page.deciding.keys, "seen": page.deciding.seen}, auto_id=False),
        "section": "review",
    }


def _with_forms(cards: Iterable[Card], refused: forms.Form | None) -> list[tuple[Card, RulingForm]]:
    return [(card, _form_of(card, refused)) for card in cards]


def _form_of(card: Card, refused: forms.Form | None) -> RulingForm:
    if isinstance(refused, RulingForm) and refused.data.get("finding") == card.key:
        refused.auto_id = f"id_{card.slug}_%s"
        return refused
    return RulingForm(initial={"finding": card.key}, auto_id=f"id_{card.slug}_%s")


def _flag_form(page: ReviewPage, refused: forms.Form | None) -> RedFlagForm:
    seen = " ".join(flag.finding.key for flag in page.triage.red_flags)
    if isinstance(refused, RedFlagForm):
        refused.renew(seen)
        return refused
    return RedFlagForm(initial={"seen": seen})


def _slot_form(page: ReviewPage) -> SlotForm | None:
    """Return what names the slot in each of its forms, without an id, since there are several."""
    return SlotForm(initial={"basis": page.options.basis}, auto_id=False) if page.options else None


def _picture(page: ReviewPage) -> str:
    lost = page.triage.forecast
    scene = forecast_view(lost.pmf.tolist(), lost.slack_min, width_mm=84.0, height_mm=40.0, text_mm=3.4)
    return mark_safe(scene_svg(scene, ident="forecast"))
