"""The position before and after: readings of the common set and coordinates of points, each saved by itself."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_http_methods, require_POST

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.models.previsit import Phase
from sessions.forms.bench.measures import shown
from sessions.forms.bench.readings import PitchForm, ReadingForm
from sessions.quantities import QUANTITIES, Part, Quantity
from sessions.selectors.bench.positions import UNCHANGED, Positions, positions_of
from sessions.selectors.bench.records import Bench
from sessions.selectors.bench.sheet_rows import dimension_rows, position_rows, screen_view, side_rows
from sessions.services.bench.errors import FitRefusal
from sessions.services.bench.readings import Given, Without, save_readings, set_pitch
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.svg import scene_svg
from sessions.views.bench.door import INVALID, refused, show, unit_of, with_record
from sessions.views.bench.rows import PagePart, Rows, to_take_again


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
@with_record
def position(request: HtmxRequest, bench: Bench, phase: str) -> HttpResponse:
    """Show or keep the common set of readings."""
    return _page(request, bench, phase, points=False)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
@with_record
def points(request: HtmxRequest, bench: Bench, phase: str) -> HttpResponse:
    """Show or keep the coordinates of points."""
    return _page(request, bench, phase, points=True)


@staff_page
@require_POST
@with_record
def reading(request: HtmxRequest, bench: Bench, phase: str, quantity: str) -> HttpResponse:
    """Keep one reading, and tell the page what follows from it."""
    if quantity not in QUANTITIES:
        raise Http404
    each = QUANTITIES[quantity]
    if not request.htmx:
        return _page(request, bench, phase, points=each.point is not None)
    rows = _rows(request, bench, phase)
    form = rows.form(each)
    if not form.is_bound or (form.has_changed() and not form.is_valid()):
        context = {"row": rows.row(each), "phase": phase, "swapped": True}
        return show(request, bench, "readings/_reading.html", context, status=INVALID)
    return _kept(request, bench, rows, form)


@staff_page
@require_POST
@with_record
def pitch(request: HtmxRequest, bench: Bench, phase: str) -> HttpResponse:
    """Keep how the bike stood on the trainer."""
    form = _pitch_form(bench, request.POST)
    if form.has_changed() and not form.is_valid():
        return _show_pitch(request, bench, phase, form, INVALID)
    try:
        if form.has_changed():
            set_pitch(record=bench.record, pitch_deg=form.cleaned_data["pitch_deg"])
    except FitRefusal as refusal:
        return _show_pitch(request, bench, phase, form, refused(request, refusal))
    if request.htmx:
        return _show_pitch(request, bench, phase, _pitch_form(bench, None), 200)
    return redirect("bench:position", bench.fit_session.pk, phase)


def _page(request: HtmxRequest, bench: Bench, phase: str, *, points: bool) -> HttpResponse:
    if request.method == "POST":
        return _keep_posted(request, bench, phase, points=points)
    return _show_page(request, bench, Rows(bench, phase, positions_of(bench.record), unit_of(request)), points=points)


def _rows(request: HtmxRequest, bench: Bench, phase: str) -> Rows:
    return Rows(bench, phase, positions_of(bench.record), unit_of(request), request.POST)


def _show_page(request: HtmxRequest, bench: Bench, rows: Rows, *, points: bool, status: int = 200) -> HttpResponse:
    parts = rows.parts(points=points)
    context = {
        "parts": parts,
        "part_names": [(part.key, part.label) for part in parts if not part.is_folded],
        "refused_forms": [row.form for part in parts for row in part.rows if row.form.is_bound],
        "pitch_form": _pitch_form(bench, None),
        "points": points,
        "others_kept": True,
        **_results(bench, rows.positions, rows.phase, rows.unit),
    }
    return show(request, bench, "readings/page.html", context, status=status)


def _results(bench: Bench, positions: Positions, phase: str, unit: str) -> dict[str, object]:
    """Return what follows from the readings of one phase, for the page and for what is swapped into it."""
    style = NumberStyle(unit)
    solution, view = positions.of(phase), screen_view(positions, phase, bench.fit_session.bike, style)
    is_after = phase == Phase.AFTER
    return {
        "phase": phase,
        "step_key": phase,
        "is_after": is_after,
        "solution": solution,
        "drawing": mark_safe(scene_svg(view.scene, ident=f"side-{phase}")),
        "change_rows": position_rows(positions, style, view.letters) if is_after else (),
        "dimension_rows": () if is_after else dimension_rows(solution.dimensions, style, view.letters),
        "side_rows": side_rows(positions, style),
        "again": to_take_again(positions, phase),
        "unreadable": [QUANTITIES[key].label for key in positions.unreadable(phase) if key in QUANTITIES],
        "has_readings": bool(positions.rows[phase]),
    }


def _keep_posted(request: HtmxRequest, bench: Bench, phase: str, *, points: bool) -> HttpResponse:
    """Keep every row that was changed on the page; those that cannot be kept come back as they were typed."""
    rows = _rows(request, bench, phase)
    changed = [form for form in rows.posted_forms(points=points) if form.has_changed()]
    given = {form.quantity.key: form.given for form in changed if form.is_valid()}
    wrong = frozenset(form.quantity.key for form in changed if not form.is_valid())
    given |= _rest(request, rows, given.keys() | wrong)
    try:
        positions = save_readings(record=bench.record, phase=phase, given=given, by=request.user)
    except FitRefusal as refusal:
        return _show_page(request, bench, rows, points=points, status=refused(request, refusal))
    now = Rows(bench, phase, positions, rows.unit, request.POST, bound=wrong)
    if request.htmx:
        return _swap_part(request, bench, now, points=points)
    if wrong:
        return _show_page(request, bench, now, points=points, status=INVALID)
    return _back(request, bench, phase, points=points)


def _rest(request: HtmxRequest, rows: Rows, said: object) -> dict[str, Given]:
    """Return the quantities of the part whose rest was said to be untouched."""
    part = _part_named(request.POST.get("rest", ""))
    if part is None or rows.phase != Phase.AFTER:
        return {}
    keys = rows.positions.unsaid_after(each.key for each in rows.quantities(part))
    return {key: Without.UNCHANGED for key in keys if key not in said}


def _part_named(name: str) -> Part | None:
    return next((part for part in Part if part.value == name), None)


def _swap_part(request: HtmxRequest, bench: Bench, rows: Rows, *, points: bool) -> HttpResponse:
    part: PagePart = rows.part(_part_named(request.POST.get("part", "")) or Part.FRAME)
    is_wrong = any(row.form.is_bound for row in part.rows)
    context = {
        "part": part,
        "points": points,
        "swapped": True,
        "saved_at": timezone.now(),
        "told": [told for told in rows.all_told(points=points) if told.quantity not in {r.quantity for r in part.rows}],
        **_results(bench, rows.positions, rows.phase, rows.unit),
    }
    return show(request, bench, "readings/_part_saved.html", context, status=INVALID if is_wrong else 200)


def _back(request: HtmxRequest, bench: Bench, phase: str, *, points: bool) -> HttpResponse:
    response = redirect("bench:points" if points else "bench:position", bench.fit_session.pk, phase)
    part = _part_named(request.POST.get("part", ""))
    if part is not None:
        response["Location"] += f"#part-{part.value}"
    return response


def _kept(request: HtmxRequest, bench: Bench, rows: Rows, form: ReadingForm) -> HttpResponse:
    """Keep one changed row, and answer with what is new: the whole row only where its own fields must change."""
    each: Quantity = form.quantity
    given = {each.key: form.given} if form.has_changed() else {}
    try:
        positions = save_readings(record=bench.record, phase=rows.phase, given=given, by=request.user)
    except FitRefusal as refusal:
        return HttpResponse(status=refused(request, refusal))
    now = Rows(bench, rows.phase, positions, rows.unit)
    row, points = now.row(each), each.point is not None
    was_untouched = form.stored is not None and form.stored.instrument == UNCHANGED
    whole = form.was_refused or "untouched" in form.changed_data or was_untouched
    context = {
        "row": row,
        "part": now.part_with(each),
        "whole": whole,
        "swapped": True,
        "saved_at": timezone.now(),
        "told": [told for told in now.all_told(points=points) if not (whole and told.quantity is each)],
        **_results(bench, positions, rows.phase, rows.unit),
    }
    response = show(request, bench, "readings/_reading_saved.html", context)
    if not whole:
        response["HX-Reswap"] = "none"
    return response


def _pitch_form(bench: Bench, data: object) -> PitchForm:
    return PitchForm(data, prefix="pitch", initial={"pitch_deg": shown(bench.record.pitch_deg, "deg", "mm")})


def _show_pitch(request: HtmxRequest, bench: Bench, phase: str, form: PitchForm, status: int) -> HttpResponse:
    rows = Rows(bench, phase, positions_of(bench.record), unit_of(request))
    context = {
        "pitch_form": form,
        "swapped": True,
        "saved_at": timezone.now(),
        "told": list(rows.all_told(points=False)),
        **_results(bench, rows.positions, phase, rows.unit),
    }
    if request.htmx:
        return show(request, bench, "readings/_pitch_saved.html", context, status=status)
    page = {"parts": rows.parts(), "points": False, "refused_forms": [form] if form.errors else []}
    return show(request, bench, "readings/page.html", context | page, status=status)
