"""The workshop's pages, behind a private link: the sheet, an answer to each line, its print, and asking for a new link."""

from django import forms
from django.contrib import messages
from django.core import signing
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from intake.edge.access import closed_workshop_page, workshop_page
from intake.edge.http import HtmxRequest
from intake.models import JobAnswer, JobLink
from intake.services.job_links import is_open
from intake.slots import slot_of
from sessions.diary.states import ENDED, SessionState
from sessions.forms.workshop.answers import AnswerForm
from sessions.models import FitSession
from sessions.selectors.booking.sessions import session_of_check
from sessions.selectors.workshop.sheet_content import job_sheet_of
from sessions.selectors.workshop.sheets import LineShown, SheetShown, job_sheets, shown
from sessions.services.workshop.answers import answer_line, answers_meanwhile
from sessions.services.workshop.errors import JobRefusal
from sessions.services.workshop.mail import ask_for_new_link
from sessions.views.rendering import render_at
from sessions.views.workshop.printing import print_sheet

NAME_COOKIE = "workshop_name"
NAME_LASTS_S = 90 * 24 * 3600


@workshop_page
@require_safe
def sheet(request: HtmxRequest, link: JobLink) -> HttpResponse:
    """Show what is to be put right, and a form to answer each line."""
    return _page(request, link, *_found(link))


def _found(link: JobLink) -> tuple[SheetShown, FitSession]:
    pre_visit_id = link.job_sheet.pre_visit_id
    fit_session = session_of_check(pre_visit_id)
    return shown(job_sheets().get(pk=link.job_sheet_id), slot_of(pre_visit_id)), fit_session


def _page(
    request: HtmxRequest,
    link: JobLink,
    found: SheetShown,
    fit_session: FitSession,
    *,
    refused: AnswerForm | None = None,
    status: int = 200,
) -> HttpResponse:
    if fit_session.state == SessionState.CANCELLED:
        return render_at(fit_session.studio, request, "sessions/workshop/cancelled.html", {"found": found})
    context = _context(request, link, found, fit_session)
    context["lines"] = [(line, _form_of(line, request, refused)) for line in found.lines]
    context["refused"] = refused
    return render_at(fit_session.studio, request, "sessions/workshop/sheet.html", context, status=status)


def _context(request: HtmxRequest, link: JobLink, found: SheetShown, fit_session: FitSession) -> dict[str, object]:
    return {
        "link": link,
        "found": found,
        "content": job_sheet_of(found, fit_session),
        "fit_session": fit_session,
        "is_over": SessionState(fit_session.state) in ENDED,
    }


def _prefix(line: LineShown) -> str:
    return f"line-{line.line.pk}"


def _form_of(line: LineShown, request: HtmxRequest, refused: forms.Form | None = None) -> AnswerForm:
    prefix = _prefix(line)
    if isinstance(refused, AnswerForm) and refused.prefix == prefix:
        return refused
    seen = line.latest.pk if line.latest else 0
    return AnswerForm(initial={"seen": seen, "answered_by": _remembered_name(request)}, prefix=prefix)


@workshop_page
@require_POST
def answer(request: HtmxRequest, link: JobLink, line_pk: int) -> HttpResponse:
    """Keep an answer to one line, also one from a page that somebody else has overtaken."""
    found, fit_session = _found(link)
    get_object_or_404(link.job_sheet.lines, pk=line_pk)
    line = next(each for each in found.lines if each.line.pk == line_pk)
    form = AnswerForm(request.POST, prefix=_prefix(line))
    if not form.is_valid():
        if "request_key" in form.errors:
            form.renew(line.latest.pk if line.latest else 0)
        return _refused(request, link, found, fit_session, line, form)
    given = form.cleaned_data
    try:
        kept = answer_line(
            line=line.line,
            fit_session=fit_session,
            outcome=given["outcome"],
            note=given["note"],
            answered_by=given["answered_by"],
            request_key=given["request_key"],
        )
    except JobRefusal as refusal:
        form.add_error(None, str(refusal))
        return _refused(request, link, found, fit_session, line, form)
    return _answered(request, link, kept, answers_meanwhile(kept, form.seen_answer()))


def _refused(
    request: HtmxRequest,
    link: JobLink,
    found: SheetShown,
    fit_session: FitSession,
    line: LineShown,
    form: AnswerForm,
) -> HttpResponse:
    if not request.htmx or fit_session.state == SessionState.CANCELLED:
        return _page(request, link, found, fit_session, refused=form, status=422)
    context = _context(request, link, found, fit_session) | {"line": line, "form": form}
    return render_at(fit_session.studio, request, "sessions/workshop/_line.html", context, status=422)


def _answered(request: HtmxRequest, link: JobLink, kept: JobAnswer, others: list[JobAnswer]) -> HttpResponse:
    """Show the line as it is now; where somebody was faster, say who: both answers stand, the later one is in force."""
    if request.htmx:
        found, fit_session = _found(link)
        line = next(each for each in found.lines if each.line.pk == kept.line_id)
        context = _context(request, link, found, fit_session)
        context |= {"line": line, "form": _form_of(line, request), "kept": kept, "others": others}
        response = render_at(fit_session.studio, request, "sessions/workshop/_line.html", context)
    else:
        messages.success(
            request, _("Your answer to “%(line)s” is kept. The studio sees it.") % {"line": kept.line.title}
        )
        if others:
            names = ", ".join(dict.fromkeys(each.answered_by for each in others))
            messages.warning(
                request,
                _("%(names)s answered the same line in the meantime. Both answers are kept.") % {"names": names},
            )
        response = redirect("workshop:sheet", link.token)
        response["Location"] += f"#line-{kept.line_id}"
    _remember_name(request, response, kept.answered_by)
    return response


def _remembered_name(request: HtmxRequest) -> str:
    """Return the name that was last given on this telephone, so that it is typed once."""
    try:
        return str(signing.loads(request.COOKIES.get(NAME_COOKIE, ""), salt=NAME_COOKIE, max_age=NAME_LASTS_S))
    except signing.BadSignature:
        return ""


def _remember_name(request: HtmxRequest, response: HttpResponse, name: str) -> None:
    kept = signing.dumps(name, salt=NAME_COOKIE)
    place = {"path": "/w/", "secure": request.is_secure(), "httponly": True, "samesite": "Lax"}
    response.set_cookie(NAME_COOKIE, kept, max_age=NAME_LASTS_S, **place)


@workshop_page
@require_safe
def pdf(request: HtmxRequest, link: JobLink) -> HttpResponse:
    """Print the sheet; there is none for a session that was cancelled."""
    found, fit_session = _found(link)
    if fit_session.state == SessionState.CANCELLED:
        return redirect("workshop:sheet", link.token)
    return print_sheet(request, found, fit_session)


@closed_workshop_page
@require_POST
def ask(request: HtmxRequest, link: JobLink) -> HttpResponse:
    """Tell the studio that a new link is wanted, and say so."""
    if is_open(link):
        return redirect("workshop:sheet", link.token)
    ask_for_new_link(link=link, fit_session=session_of_check(link.job_sheet.pre_visit_id))
    return render(request, "intake/workshops/link_asked.html")
