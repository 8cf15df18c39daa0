"""The rider's own way to a workshop: any one they like, told only what they agree to."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.edge.access import rider_page
from intake.edge.http import HtmxRequest
from intake.models import JobSheet, RiderLink
from intake.selectors.workshops import workshops_in_use
from intake.slots import slot_of
from sessions.diary.states import ENDED, SessionState
from sessions.forms.workshop.sheets import RiderSheetForm, ShareForm
from sessions.models import FitSession
from sessions.selectors.booking.sessions import session_of_check
from sessions.selectors.workshop.drafts import JobDraft, drafts_of_check
from sessions.selectors.workshop.sheets import SheetShown, job_sheets, sheets_of_check, shown
from sessions.services.workshop.errors import JobRefusal
from sessions.services.workshop.mail import draft_letter, mail_job_sheet
from sessions.services.workshop.sheets import close_job_sheet, make_job_sheet, share_contact
from sessions.views.rendering import render_at
from sessions.views.workshop.printing import print_sheet


@rider_page
@require_http_methods(["GET", "HEAD", "POST"])
def sheets(request: HtmxRequest, link: RiderLink) -> HttpResponse:
    """Show the sheets that there are, and make another."""
    fit_session = session_of_check(link.pre_visit_id)
    drafts = drafts_of_check(fit_session.pre_visit, slot_of(link.pre_visit_id))
    form = RiderSheetForm(request.POST or None, drafts=drafts, workshops=workshops_in_use())
    if request.method == "POST" and form.is_valid():
        try:
            made = _made(form, fit_session)
        except JobRefusal as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Your job sheet is ready."))
            return redirect("rider:job_sheet", link.token, made.pk)
    elif "request_key" in form.errors:
        form.renew()
    return _show_sheets(request, link, fit_session, form, drafts)


def _show_sheets(
    request: HtmxRequest, link: RiderLink, fit_session: FitSession, form: RiderSheetForm, drafts: tuple[JobDraft, ...]
) -> HttpResponse:
    context = {
        "link": link,
        "fit_session": fit_session,
        "sheets": sheets_of_check(fit_session.pre_visit, slot_of(link.pre_visit_id)),
        "form": form,
        "drafts": drafts,
        "is_over": SessionState(fit_session.state) in ENDED,
    }
    status = 422 if form.is_bound else 200
    return render_at(fit_session.studio, request, "sessions/workshop/rider/sheets.html", context, status=status)


def _made(form: RiderSheetForm, fit_session: FitSession) -> JobSheet:
    given = form.cleaned_data
    return make_job_sheet(
        fit_session=fit_session,
        keys=given["lines"],
        recipient=form.recipient(),
        note=given["note"],
        shared=form.shared(),
        request_key=given["request_key"],
    )


def _found(link: RiderLink, sheet_pk: int) -> tuple[FitSession, SheetShown]:
    sheet = get_object_or_404(job_sheets(), pk=sheet_pk, pre_visit=link.pre_visit_id)
    return session_of_check(link.pre_visit_id), shown(sheet, slot_of(link.pre_visit_id))


@rider_page
@require_safe
def sheet(request: HtmxRequest, link: RiderLink, sheet_pk: int) -> HttpResponse:
    """Show one sheet: what it asks, what was answered, how to hand it over, and what it says of the rider."""
    fit_session, found = _found(link, sheet_pk)
    context = {
        "link": link,
        "fit_session": fit_session,
        "found": found,
        "form": ShareForm.of(found.sheet),
        "is_over": SessionState(fit_session.state) in ENDED,
    }
    return render_at(fit_session.studio, request, "sessions/workshop/rider/sheet.html", context)


@rider_page
@require_POST
def share(request: HtmxRequest, link: RiderLink, sheet_pk: int) -> HttpResponse:
    """Keep what the rider lets this workshop know."""
    form = ShareForm(request.POST)
    form.is_valid()  # three boxes: nothing can be wrong with them
    share_contact(job_sheet=_found(link, sheet_pk)[1].sheet, shared=form.shared())
    messages.success(request, _("Saved. The workshop's page shows it from now on."))
    return redirect("rider:job_sheet", link.token, sheet_pk)


@rider_page
@require_POST
def mail(request: HtmxRequest, link: RiderLink, sheet_pk: int) -> HttpResponse:
    """Mail the sheet to its workshop in the studio's words."""
    fit_session, found = _found(link, sheet_pk)
    try:
        sent = mail_job_sheet(found=found, fit_session=fit_session, letter=draft_letter(found, fit_session))
    except JobRefusal as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.success(request, _("The sheet is on its way to %(address)s.") % {"address": sent.to})
    return redirect("rider:job_sheet", link.token, sheet_pk)


@rider_page
@require_POST
def close(request: HtmxRequest, link: RiderLink, sheet_pk: int) -> HttpResponse:
    """Close the workshop's link."""
    close_job_sheet(job_sheet=_found(link, sheet_pk)[1].sheet)
    messages.success(request, _("The workshop's link no longer opens anything. What it has answered stays."))
    return redirect("rider:job_sheet", link.token, sheet_pk)


@rider_page
@require_safe
def pdf(request: HtmxRequest, link: RiderLink, sheet_pk: int) -> HttpResponse:
    """Print a sheet for the rider to hand over."""
    fit_session, found = _found(link, sheet_pk)
    return print_sheet(request, found, fit_session)
