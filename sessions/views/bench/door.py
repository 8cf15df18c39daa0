"""The way to the bench: the session with its record, the unit of the page, and the frame that all its pages share."""

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from intake.edge.http import HtmxRequest
from intake.models.clients import LengthUnit
from sessions.forms.bench.measures import posted_unit
from sessions.selectors.bench.home import STEP_LABELS, plain_steps
from sessions.selectors.bench.records import Bench, bench_of
from sessions.services.bench.errors import FitRefusal
from sessions.views.rendering import render_at

UNIT_KEY = "bench_unit"
INVALID, GONE_ON = 422, 409

Page = Callable[..., HttpResponse]


def with_record(page: Page) -> Page:
    """Hand the view its ``Bench``; where no record was begun, lead to the page on which it is."""

    @wraps(page)
    def opened(request: HtmxRequest, pk: int, *args: object, **kwargs: object) -> HttpResponse:
        bench = bench_of(pk)
        if bench.is_begun:
            return page(request, bench, *args, **kwargs)
        if request.htmx:
            return HttpResponse(status=GONE_ON)
        messages.warning(request, _("Begin the session first."))
        return redirect("bench:home", pk)

    return opened


def unit_of(request: HttpRequest) -> str:
    """Return the unit in which this page shows and reads lengths: that of the posted page, else what was last chosen."""
    kept = request.session.get(UNIT_KEY, LengthUnit.MILLIMETRE)
    return posted_unit(request.POST, kept if kept in LengthUnit.values else LengthUnit.MILLIMETRE)


def show(
    request: HtmxRequest, bench: Bench, template: str, context: dict[str, object], *, status: int = 200
) -> HttpResponse:
    """Render one of the bench's pages with what all of them need."""
    unit, step = unit_of(request), str(context.get("step_key", ""))
    shared = {
        "step_label": STEP_LABELS.get(step, ""),
        "next_key": next_step(step),
        "bench": bench,
        "fit_session": bench.fit_session,
        "record": bench.record,
        "steps": plain_steps(bench.fit_session),
        "unit": unit,
        "other_unit": next(each for each in LengthUnit if each != unit),
        "section": "bench",
    }
    return render_at(bench.fit_session.studio, request, f"sessions/bench/{template}", shared | context, status=status)


def next_step(key: str) -> str:
    """Return the step after this one, empty after the last.

    >>> next_step("body"), next_step("closing")
    ('before', '')
    """
    keys = [*STEP_LABELS, "", ""]
    return keys[keys.index(key) + 1]


def refused(request: HtmxRequest, refusal: FitRefusal) -> int:
    """Say what was refused, and return the status that goes with it."""
    messages.error(request, str(refusal))
    return GONE_ON
