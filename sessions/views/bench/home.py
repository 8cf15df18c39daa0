"""The first page at the bench: begin, see what was found, go to a step; take a start back, open a record again."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.diary.errors import MoveNotAllowedError
from sessions.forms.bench.closing import ReopenForm
from sessions.forms.bench.readings import UnitForm
from sessions.selectors.bench.home import STEP_LABELS, step_url, steps_of, triage_line
from sessions.selectors.bench.records import Bench, bench_of
from sessions.services.bench.errors import FitRefusal
from sessions.services.bench.records import begin_record, reopen_record, take_back_start
from sessions.services.booking.errors import DiaryRefusal
from sessions.views.bench.door import INVALID, UNIT_KEY, refused, show


@staff_page
@require_safe
def home(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show what was found before, and how far the record is."""
    return _show_home(request, bench_of(pk))


def _show_home(request: HtmxRequest, bench: Bench, form: ReopenForm | None = None, status: int = 200) -> HttpResponse:
    context = {
        "line": triage_line(bench.fit_session),
        "steps": steps_of(bench),
        "reopen_form": form or ReopenForm(prefix="reopen"),
        "closings": bench.record.closing_steps.select_related("taken_by") if bench.record else (),
    }
    return show(request, bench, "home.html", context, status=status)


@staff_page
@require_POST
def begin(request: HtmxRequest, pk: int) -> HttpResponse:
    """Begin the record; the session is then under way."""
    bench = bench_of(pk)
    try:
        begin_record(fit_session=bench.fit_session, by=request.user)
    except (MoveNotAllowedError, DiaryRefusal) as refusal:
        messages.error(request, str(refusal))
        return redirect("bench:home", pk)
    return redirect("bench:body", pk)


@staff_page
@require_POST
def take_back(request: HtmxRequest, pk: int) -> HttpResponse:
    """Undo a start by mistake."""
    try:
        take_back_start(fit_session=bench_of(pk).fit_session, by=request.user)
    except FitRefusal as refusal:
        refused(request, refusal)
    except (MoveNotAllowedError, DiaryRefusal) as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("The start has been taken back; the session is confirmed as before."))
    return redirect("bench:home", pk)


@staff_page
@require_http_methods(["POST"])
def reopen(request: HtmxRequest, pk: int) -> HttpResponse:
    """Open a closed record again, with the reason."""
    bench = bench_of(pk)
    form = ReopenForm(request.POST, prefix="reopen")
    if not bench.is_closed:
        return redirect("bench:home", pk)
    if not form.is_valid():
        return _show_home(request, bench, form, INVALID)
    reopen_record(record=bench.record, by=request.user, note=form.cleaned_data["note"])
    messages.success(request, _("The record is open again. The rider sees the sheet once you have closed it."))
    return redirect("bench:closing", pk)


@staff_page
@require_POST
def unit(request: HtmxRequest, pk: int) -> HttpResponse:
    """Show lengths in another unit from now on, in this browser."""
    bench = bench_of(pk)
    form = UnitForm(request.POST)
    if form.is_valid():
        request.session[UNIT_KEY] = form.cleaned_data["unit"]
    step = request.POST.get("step", "")
    if step in STEP_LABELS and bench.is_begun:
        return redirect(step_url(step, pk))
    return redirect("bench:home", pk)
