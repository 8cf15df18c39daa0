"""The rider's body, and what the published rules make of it."""

from collections.abc import Container

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.forms.bench.details import BodyForm
from sessions.geometry.body import BODY, body_warnings
from sessions.geometry.starting_height import NOTE
from sessions.models import BodyMeasure
from sessions.selectors.bench.positions import positions_of
from sessions.selectors.bench.records import Bench
from sessions.selectors.bench.starting_heights import starting_heights_of
from sessions.services.bench.details import save_body_measure
from sessions.services.bench.errors import FitRefusal
from sessions.sheets.numbers import NumberStyle
from sessions.views.bench.door import INVALID, refused, show, unit_of, with_record

# The leg first: it is all that the starting heights need.
FIRST = ("inseam", "stature", "thigh", "shank", "ankle_height", "foot_length")


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
@with_record
def body(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Show or keep the body measures."""
    stored = _stored(bench)
    if request.method != "POST":
        return _show_page(request, bench, _forms(request, stored))
    forms = [form for form in _forms(request, stored, posted=BODY) if form.is_bound and form.has_changed()]
    wrong = {form.measure.key for form in forms if not form.is_valid()}
    try:
        for form in forms:
            if form.is_valid():
                _save(bench, form)
    except FitRefusal as refusal:
        return _show_page(request, bench, _forms(request, stored, posted=BODY), refused(request, refusal))
    if wrong:
        return _show_page(request, bench, _forms(request, _stored(bench), posted=wrong), INVALID)
    return redirect("bench:body", bench.fit_session.pk)


@staff_page
@require_POST
@with_record
def body_measure(request: HtmxRequest, bench: Bench, measure: str) -> HttpResponse:
    """Keep one body measure, and tell the page what follows from it."""
    if measure not in BODY:
        raise Http404
    if not request.htmx:
        return body(request, bench.fit_session.pk)
    form = BodyForm(measure, stored=_stored(bench).get(measure), typed_in=unit_of(request), data=request.POST)
    if not form.is_posted or (form.has_changed() and not form.is_valid()):
        return show(request, bench, "body/_measure.html", {"form": form, "swapped": True}, status=INVALID)
    try:
        if form.has_changed():
            _save(bench, form)
    except FitRefusal as refusal:
        return HttpResponse(status=refused(request, refusal))
    stored = _stored(bench)
    fresh = BodyForm(measure, stored=stored.get(measure), typed_in=unit_of(request))
    context = {"form": fresh, "whole": form.was_refused, "saved_at": timezone.now(), **_follows(request, bench, stored)}
    response = show(request, bench, "body/_measure_saved.html", context)
    if not form.was_refused:
        response["HX-Reswap"] = "none"
    return response


def _stored(bench: Bench) -> dict[str, BodyMeasure]:
    return {row.measure: row for row in bench.record.body_measures.all()}


def _forms(
    request: HtmxRequest, stored: dict[str, BodyMeasure], posted: Container[str] = frozenset()
) -> list[BodyForm]:
    forms = []
    for key in (*FIRST, *(key for key in BODY if key not in FIRST)):
        is_posted = key in posted and f"{key}-value" in request.POST
        data = request.POST if is_posted else None
        forms.append(BodyForm(key, stored=stored.get(key), typed_in=unit_of(request), data=data))
    return forms


def _save(bench: Bench, form: BodyForm) -> None:
    save_body_measure(
        record=bench.record,
        measure=form.measure.key,
        value_mm=form.cleaned_data["value"],
        as_typed=form.typed("value"),
    )


def _follows(request: HtmxRequest, bench: Bench, stored: dict[str, BodyMeasure]) -> dict[str, object]:
    """Return what the measures mean: which rarely go together, and the rules' heights side by side."""
    measures_mm = {key: row.value_mm for key, row in stored.items()}
    style = NumberStyle(unit_of(request))
    heights = starting_heights_of(measures_mm, positions_of(bench.record), bench.fit_session.bike, style)
    return {
        "warnings": body_warnings(measures_mm),
        "heights": heights,
        "note": NOTE,
        "has_inseam": "inseam" in measures_mm,
    }


def _show_page(request: HtmxRequest, bench: Bench, forms: list[BodyForm], status: int = 200) -> HttpResponse:
    from_stored = _stored(bench)
    context = {
        "step_key": "body",
        "others_kept": True,
        "forms_first": [form for form in forms if form.measure.key in FIRST],
        "forms_more": [form for form in forms if form.measure.key not in FIRST],
        "is_more_open": any(form.stored or form.is_bound for form in forms if form.measure.key not in FIRST),
        "refused_forms": [form for form in forms if form.is_bound],
        **_follows(request, bench, from_stored),
    }
    return show(request, bench, "body/page.html", context, status=status)
