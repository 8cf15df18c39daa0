"""The page on which the fitter edits a mail before deciding about the slot."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext_lazy as _

from intake.edge.http import HtmxRequest
from intake.triage.plans import errands_named
from sessions.forms.review.slot import ExtendForm, LetterForm, MoveForm, SlotForm
from sessions.forms.starts import StartForm
from sessions.models import SlotChoice
from sessions.selectors.booking.offers import other_starts_to_move_to
from sessions.selectors.review.page import ReviewPage
from sessions.services.review.letters import draft_letter, draft_message
from sessions.views.rendering import render_at
from sessions.views.review.answer import show_session

FORMS = {
    SlotChoice.KEEP: LetterForm,
    SlotChoice.ASK_RIDER: LetterForm,
    SlotChoice.EXTEND: ExtendForm,
    SlotChoice.MOVE: MoveForm,
}
HEADINGS = {
    SlotChoice.KEEP: _("Keep the slot"),
    SlotChoice.ASK_RIDER: _("Ask the rider"),
    SlotChoice.EXTEND: _("Make the session longer"),
    SlotChoice.MOVE: _("Move the session"),
}
BUTTONS = {
    SlotChoice.KEEP: _("Keep it and send the mail"),
    SlotChoice.ASK_RIDER: _("Send the mail"),
    SlotChoice.EXTEND: _("Make it longer and send the mail"),
    SlotChoice.MOVE: _("Move it and send the mail"),
}


def show_letter(
    request: HtmxRequest, page: ReviewPage, choice: SlotChoice, *, refused: SlotForm | None = None
) -> HttpResponse:
    """Show the page; a slot that is settled has none, so that its session is shown instead."""
    fit_session = page.fit_session
    if page.options is None:
        if refused is not None:
            return show_session(request, fit_session, refused=refused)
        return redirect("review:session", fit_session.pk)
    form = refused or draft(request, page, choice)
    if refused is not None:
        refused.renew(page.options.basis)
    _offer(form, page)
    context = {
        "fit_session": fit_session,
        "page": page,
        "triage": page.triage,
        "form": form,
        "start": form.chosen_start() if isinstance(form, MoveForm) else None,
        "heading": HEADINGS[choice],
        "button": BUTTONS[choice],
        "choice": choice.value,
        "is_noted": page.last_decision is not None and page.last_decision.choice == choice,
        "section": "review",
    }
    status = 422 if refused else 200
    return render_at(fit_session.studio, request, "sessions/review/letter.html", context, status=status)


def draft(request: HtmxRequest, page: ReviewPage, choice: SlotChoice) -> SlotForm:
    """Return the form of a choice with a text made from the triage."""
    initial: dict[str, object] = {"basis": page.options.basis}
    drafts = {SlotChoice.EXTEND: _longer, SlotChoice.MOVE: _moved}
    initial |= drafts.get(choice, _letter)(request, page, choice)
    return FORMS[choice](initial=initial)


def _letter(request: HtmxRequest, page: ReviewPage, choice: SlotChoice) -> dict[str, object]:
    errands = errands_named(page.triage, request.GET.get("plan", "")) if choice is SlotChoice.KEEP else ()
    letter = draft_letter(choice, page.fit_session, page.triage, page.link, errands=errands)
    return {"subject": letter.subject, "body": letter.body}


def _longer(request: HtmxRequest, page: ReviewPage, choice: SlotChoice) -> dict[str, object]:
    message = draft_message(choice, page.fit_session, page.triage, page.link)
    enough = (each.extra_min for each in page.options.extensions if each.is_enough)
    return {"message": message, "extra_min": next(enough, None)}


def _moved(request: HtmxRequest, page: ReviewPage, choice: SlotChoice) -> dict[str, object]:
    start = StartForm(request.GET)
    start.full_clean()
    new_start = start.cleaned_data["start"]
    message = draft_message(choice, page.fit_session, page.triage, page.link, then=page.triage_on(new_start))
    return {"message": message, "start": new_start}


def _offer(form: SlotForm, page: ReviewPage) -> None:
    """Let the form offer what the day allows now."""
    if isinstance(form, ExtendForm):
        form.offer(page.options.extensions)
    elif isinstance(form, MoveForm) and form.has_error("start"):
        form.offer(other_starts_to_move_to(page.fit_session, form.wanted), page.fit_session.studio.zone)
