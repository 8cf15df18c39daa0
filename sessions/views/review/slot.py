"""Decide about the slot: one tap from the session's page, or from a page of its own where a mail is edited first."""

from collections.abc import Callable
from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.diary.errors import DiaryError
from sessions.forms.booking.weeks import WeekForm
from sessions.forms.review.slot import ExtendForm, LetterForm, MoveForm, SlotForm
from sessions.forms.starts import StartForm
from sessions.models import FitSession, SlotChoice, SlotDecision
from sessions.selectors.booking.offers import week_to_move_to
from sessions.selectors.booking.places import check_window
from sessions.selectors.review.page import review_page
from sessions.services.booking.errors import DiaryRefusal
from sessions.services.review.decisions import DecisionRefusal
from sessions.services.review.slot_decisions import ask_rider, extend_slot, keep_slot, move_slot
from sessions.views.rendering import render_at
from sessions.views.review.answer import decided, reviewed, show_session
from sessions.views.review.letter import show_letter


@dataclass(frozen=True)
class Way:
    """How one choice is made: the form of one tap, the form with a mail, the service, and what is said afterwards."""

    tap: type[SlotForm]
    write: type[SlotForm]
    decide: Callable[..., SlotDecision]
    done: Promise


WAYS = {
    SlotChoice.KEEP: Way(SlotForm, LetterForm, keep_slot, gettext_lazy("The slot stays as it is.")),
    SlotChoice.ASK_RIDER: Way(SlotForm, LetterForm, ask_rider, gettext_lazy("It is noted that the rider is asked.")),
    SlotChoice.EXTEND: Way(ExtendForm, ExtendForm, extend_slot, gettext_lazy("The session is longer now.")),
    SlotChoice.MOVE: Way(MoveForm, MoveForm, move_slot, gettext_lazy("The session is moved.")),
}


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def slot(request: HtmxRequest, pk: int, choice: str) -> HttpResponse:
    """Show the page of one choice, or keep the decision."""
    if choice not in SlotChoice.values:
        raise Http404
    fit_session = reviewed(pk)
    if request.method == "POST":
        return _decide(request, fit_session, SlotChoice(choice))
    if choice == SlotChoice.MOVE and not _names_start(request, fit_session):
        return _starts(request, fit_session)
    return show_letter(request, review_page(fit_session), SlotChoice(choice))


def _names_start(request: HtmxRequest, fit_session: FitSession) -> bool:
    """Return whether the address names a start within the days that can be booked; say so where it names another."""
    form = StartForm(request.GET)
    if not form.is_valid():
        return False
    try:
        check_window(fit_session.studio, form.cleaned_data["start"], with_notice=False)
    except DiaryRefusal as refusal:
        messages.warning(request, str(refusal))
        return False
    return True


def _starts(request: HtmxRequest, fit_session: FitSession) -> HttpResponse:
    """Show a week of free starts: the one asked for, else that in which what the session needs can first be ready."""
    page = review_page(fit_session)
    if page.options is None:
        return redirect("review:session", fit_session.pk)
    wanted = WeekForm(request.GET).wanted() or page.triage.first_ready_on
    context = {
        "fit_session": fit_session,
        "week": week_to_move_to(fit_session, wanted),
        "book_at": reverse("review:slot", args=[fit_session.pk, SlotChoice.MOVE.value]),
        "ready_on": page.triage.first_ready_on,
        "section": "review",
    }
    template = "sessions/booking/_starts.html" if request.htmx else "sessions/review/starts.html"
    return render_at(fit_session.studio, request, template, context)


def _decide(request: HtmxRequest, fit_session: FitSession, choice: SlotChoice) -> HttpResponse:
    way, writes = WAYS[choice], "writes" in request.POST
    form = (way.write if writes else way.tap)(request.POST)
    if form.is_valid() and _goes_through(way, form, fit_session, request):
        return _after(request, fit_session, choice, writes=writes)
    if writes:
        return show_letter(request, review_page(reviewed(fit_session.pk)), choice, refused=form)
    return show_session(request, reviewed(fit_session.pk), refused=form)


def _goes_through(way: Way, form: SlotForm, fit_session: FitSession, request: HtmxRequest) -> bool:
    """Keep the decision of a valid form; where it is refused, put the reason on the form."""
    try:
        way.decide(fit_session=fit_session, by=request.user, **form.decision())
    except (DecisionRefusal, DiaryRefusal, DiaryError) as refusal:
        form.refuse(refusal)
        return False
    return True


def _after(request: HtmxRequest, fit_session: FitSession, choice: SlotChoice, *, writes: bool) -> HttpResponse:
    if choice is SlotChoice.ASK_RIDER and not writes:
        return redirect("review:slot", fit_session.pk, choice.value)
    sentence = str(WAYS[choice].done)
    if writes or choice in {SlotChoice.EXTEND, SlotChoice.MOVE}:
        rider = fit_session.client
        sentence = _("%(done)s The mail to %(rider)s is on its way.") % {"done": sentence, "rider": rider}
    return decided(request, fit_session.pk, sentence, anchor="slot")
