"""Job sheets at the desk: make one from the findings, mail it, print it, close its link or make a new one."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.selectors.workshops import workshops_in_use
from intake.slots import slot_of
from sessions.forms.workshop.sheets import LetterForm, SheetForm
from sessions.models import FitSession
from sessions.selectors.workshop.drafts import drafts_of_check
from sessions.selectors.workshop.sheets import SheetShown, job_sheets, shown
from sessions.services.workshop.errors import JobRefusal
from sessions.services.workshop.mail import draft_letter, mail_job_sheet
from sessions.services.workshop.sheets import close_job_sheet, make_job_sheet, renew_job_link
from sessions.views.rendering import render_at
from sessions.views.review.answer import reviewed
from sessions.views.workshop.printing import print_sheet


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HtmxRequest, pk: int) -> HttpResponse:
    """Choose the lines and the workshop, and make the sheet."""
    fit_session = reviewed(pk)
    drafts = drafts_of_check(fit_session.pre_visit, slot_of(fit_session.pre_visit_id))
    form = SheetForm(request.POST or None, drafts=drafts, workshops=workshops_in_use())
    if request.method == "POST" and form.is_valid():
        try:
            made = _made(form, fit_session, request)
        except JobRefusal as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The job sheet is made. Mail it, print it, or copy its link."))
            return redirect("job_sheets:sheet", pk, made.pk)
    elif "request_key" in form.errors:
        form.renew()
    context = {"fit_session": fit_session, "form": form, "drafts": drafts, "section": "review"}
    status = 422 if form.is_bound else 200
    return render_at(fit_session.studio, request, "sessions/workshop/desk/new.html", context, status=status)


def _made(form: SheetForm, fit_session: FitSession, request: HtmxRequest) -> object:
    given = form.cleaned_data
    return make_job_sheet(
        fit_session=fit_session,
        keys=given["lines"],
        recipient=form.recipient(),
        note=given["note"],
        request_key=given["request_key"],
        by=request.user,
    )


def _found(pk: int, sheet_pk: int) -> tuple[FitSession, SheetShown]:
    fit_session = reviewed(pk)
    sheet = get_object_or_404(job_sheets(), pk=sheet_pk, pre_visit=fit_session.pre_visit_id)
    return fit_session, shown(sheet, slot_of(fit_session.pre_visit_id))


@staff_page
@require_safe
def sheet(request: HtmxRequest, pk: int, sheet_pk: int) -> HttpResponse:
    """Show a sheet: what was answered, its link, and the mail to the workshop."""
    return _show(request, *_found(pk, sheet_pk))


def _show(
    request: HtmxRequest, fit_session: FitSession, found: SheetShown, *, refused: LetterForm | None = None
) -> HttpResponse:
    letter = draft_letter(found, fit_session)
    context = {
        "fit_session": fit_session,
        "found": found,
        "form": refused or LetterForm(initial={"subject": letter.subject, "body": letter.body}),
        "section": "review",
    }
    status = 422 if refused else 200
    return render_at(fit_session.studio, request, "sessions/workshop/desk/sheet.html", context, status=status)


@staff_page
@require_POST
def mail(request: HtmxRequest, pk: int, sheet_pk: int) -> HttpResponse:
    """Mail the sheet to its workshop as the letter was edited."""
    fit_session, found = _found(pk, sheet_pk)
    form = LetterForm(request.POST)
    if not form.is_valid():
        return _show(request, fit_session, found, refused=form)
    try:
        sent = mail_job_sheet(found=found, fit_session=fit_session, letter=form.letter())
    except JobRefusal as refusal:
        form.add_error(None, str(refusal))
        return _show(request, fit_session, found, refused=form)
    messages.success(request, _("The sheet is on its way to %(address)s.") % {"address": sent.to})
    return redirect("job_sheets:sheet", pk, sheet_pk)


@staff_page
@require_POST
def close(request: HtmxRequest, pk: int, sheet_pk: int) -> HttpResponse:
    """Close the link of a sheet."""
    close_job_sheet(job_sheet=_found(pk, sheet_pk)[1].sheet)
    messages.success(request, _("The link no longer opens anything. What the workshop has answered stays."))
    return redirect("job_sheets:sheet", pk, sheet_pk)


@staff_page
@require_POST
def renew(request: HtmxRequest, pk: int, sheet_pk: int) -> HttpResponse:
    """Make a new link for a sheet and close the one before."""
    renew_job_link(job_sheet=_found(pk, sheet_pk)[1].sheet, replaces=request.POST.get("replaces", ""))
    messages.success(request, _("A new link has been made. Earlier ones no longer open anything."))
    return redirect("job_sheets:sheet", pk, sheet_pk)


@staff_page
@require_safe
def pdf(request: HtmxRequest, pk: int, sheet_pk: int) -> HttpResponse:
    """Print a sheet."""
    fit_session, found = _found(pk, sheet_pk)
    return print_sheet(request, found, fit_session)
