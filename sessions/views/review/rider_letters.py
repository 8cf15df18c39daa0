"""Ask the rider for a few answers, or offer another service: one tap from the session's page, or from a page where the mail is edited."""

from collections.abc import Callable
from dataclasses import dataclass

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.forms.review.rider_letters import FewForm, FewLetterForm, OfferForm, OfferLetterForm
from sessions.selectors.review.page import ReviewPage, review_page
from sessions.services.review.decisions import DecisionRefusal
from sessions.services.review.rider_letters import ask_few, draft_few, draft_offer, offer_change
from sessions.services.review.slot_decisions import Letter
from sessions.views.rendering import render_at
from sessions.views.review.answer import decided, reviewed, show_session


@dataclass(frozen=True)
class LetterKind:
    """One of the two letters: its forms, what sends it, and its words."""

    name: str
    tap: type[forms.Form]
    write: type[forms.Form]
    send: Callable[..., object]
    heading: Promise
    done: Promise


FEW = LetterKind(
    "few", FewForm, FewLetterForm, ask_few, _("Ask the rider"), _("Asked. The mail is on its way to the rider.")
)
OFFER = LetterKind(
    "offer",
    OfferForm,
    OfferLetterForm,
    offer_change,
    _("Offer to change or cancel"),
    _("The mail is on its way to the rider. The session stays as it is until the rider answers."),
)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def few(request: HtmxRequest, pk: int) -> HttpResponse:
    """Ask for the few answers that decide."""
    return _letter(request, pk, FEW)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def offer(request: HtmxRequest, pk: int) -> HttpResponse:
    """Offer to change or cancel what may not be needed."""
    return _letter(request, pk, OFFER)


def _letter(request: HtmxRequest, pk: int, kind: LetterKind) -> HttpResponse:
    fit_session = reviewed(pk)
    if request.method != "POST":
        return _show(request, review_page(fit_session), kind)
    writes = "writes" in request.POST
    form = (kind.write if writes else kind.tap)(request.POST)
    if form.is_valid():
        try:
            kind.send(fit_session=fit_session, by=request.user, **form.decision())
        except DecisionRefusal as refusal:
            form.add_error(None, str(refusal))
        else:
            return decided(request, pk, str(kind.done), anchor=kind.name)
    if writes:
        return _show(request, review_page(reviewed(pk)), kind, refused=form)
    return show_session(request, reviewed(pk), refused=form)


def _show(
    request: HtmxRequest, page: ReviewPage, kind: LetterKind, *, refused: forms.Form | None = None
) -> HttpResponse:
    """Show the page of a letter; where there is nothing to write about, the session instead."""
    fit_session, letter = page.fit_session, _draft(page, kind)
    if letter is None:
        if refused is not None:
            return show_session(request, fit_session, refused=refused)
        return redirect("review:session", fit_session.pk)
    form = refused or kind.write(initial=_initial(page, kind) | {"subject": letter.subject, "body": letter.body})
    context = {
        "fit_session": fit_session,
        "triage": page.triage,
        "form": form,
        "heading": kind.heading,
        "post_to": f"review:{kind.name}",
        "section": "review",
    }
    status = 422 if refused else 200
    return render_at(fit_session.studio, request, "sessions/review/rider_letter.html", context, status=status)


def _draft(page: ReviewPage, kind: LetterKind) -> Letter | None:
    if page.options is None:
        return None
    if kind is FEW:
        checks = [page.triage_check(question.key) for question in page.deciding.questions]
        return draft_few(page.fit_session, checks) if checks else None
    return draft_offer(page.fit_session, page.eased) if page.eased else None


def _initial(page: ReviewPage, kind: LetterKind) -> dict[str, object]:
    return {"keys": page.deciding.keys, "seen": page.deciding.seen} if kind is FEW else {}
