"""What was changed on the bike, and what the rider still needs: rows that are added, corrected and taken out."""

from collections.abc import Callable
from dataclasses import dataclass

from django.forms import Form
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from sessions.forms.bench.details import ComponentForm, NewComponentForm, NewPartForm, PartForm
from sessions.models import ComponentChange, PartToOrder
from sessions.selectors.bench.records import Bench
from sessions.services.bench.details import add_component_change, add_part, change_row, remove_row
from sessions.services.bench.errors import FitRefusal
from sessions.views.bench.door import INVALID, refused, show, with_record


@dataclass(frozen=True)
class Kind:
    """One of the two lists: its rows, its forms, and how a row is added."""

    name: str
    rows: str
    row_form: type[ComponentForm | PartForm]
    new_form: type[NewComponentForm | NewPartForm]
    add: Callable[..., object]


KINDS = {
    kind.name: kind
    for kind in (
        Kind("change", "component_changes", ComponentForm, NewComponentForm, add_component_change),
        Kind("part", "parts_to_order", PartForm, NewPartForm, add_part),
    )
}


@staff_page
@require_safe
@with_record
def changes(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Show both lists."""
    return _show_page(request, bench)


@staff_page
@require_POST
@with_record
def add(request: HtmxRequest, bench: Bench, kind: str) -> HttpResponse:
    """Add a row; the same form sent twice adds one."""
    chosen = _kind(kind)
    form = chosen.new_form(request.POST, prefix=f"new-{kind}")
    if not form.is_valid():
        if "request_key" in form.errors:
            form.renew()
        return _answer(request, bench, chosen, INVALID, new=form)
    given = {**form.cleaned_data, "request_key": str(form.cleaned_data["request_key"])}
    try:
        chosen.add(record=bench.record, **given)
    except FitRefusal as refusal:
        return _answer(request, bench, chosen, refused(request, refusal), new=form)
    return _answer(request, bench, chosen, 200)


@staff_page
@require_POST
@with_record
def row(request: HtmxRequest, bench: Bench, kind: str, row_pk: int) -> HttpResponse:
    """Correct a row, or take it out."""
    chosen = _kind(kind)
    found = get_object_or_404(getattr(bench.record, chosen.rows), pk=row_pk)
    form = chosen.row_form.of(found, request.POST)
    try:
        if "remove" in request.POST:
            remove_row(row=found)
            return _answer(request, bench, chosen, 200)
        if form.has_changed() and not form.is_valid():
            return _answer_row(request, bench, chosen, form, found, INVALID)
        if form.has_changed():
            change_row(row=found, changed=form.changed)
    except FitRefusal as refusal:
        return _answer_row(request, bench, chosen, form, found, refused(request, refusal))
    return _answer_row(request, bench, chosen, form, found, 200)


def _kind(name: str) -> Kind:
    if name not in KINDS:
        raise Http404
    return KINDS[name]


def _list(bench: Bench, kind: Kind, new: Form | None = None, bound: Form | None = None) -> dict[str, object]:
    rows = [(each, kind.row_form.of(each)) for each in getattr(bench.record, kind.rows).all()]
    if bound is not None:
        rows = [(each, bound if form.prefix == bound.prefix else form) for each, form in rows]
    return {"kind": kind.name, "rows": rows, "new_form": new or kind.new_form(prefix=f"new-{kind.name}")}


def _show_page(
    request: HtmxRequest, bench: Bench, *, status: int = 200, at: str = "", **forms: Form | None
) -> HttpResponse:
    lists = {f"{name}s": _list(bench, kind, **(forms if name == at else {})) for name, kind in KINDS.items()}
    refused_forms = [form for form in forms.values() if form is not None and form.is_bound]
    context = {"step_key": "changes", "refused_forms": refused_forms, **lists}
    return show(request, bench, "changes/page.html", context, status=status)


def _answer(request: HtmxRequest, bench: Bench, kind: Kind, status: int, new: Form | None = None) -> HttpResponse:
    """Answer with the list as it is now, its new form empty unless it is to be put right."""
    if request.htmx:
        context = {"list": _list(bench, kind, new), "swapped": True}
        return show(request, bench, "changes/_list.html", context, status=status)
    if status != 200:
        return _show_page(request, bench, status=status, at=kind.name, new=new)
    return redirect("bench:changes", bench.fit_session.pk)


def _answer_row(
    request: HtmxRequest, bench: Bench, kind: Kind, form: Form, found: ComponentChange | PartToOrder, status: int
) -> HttpResponse:
    if not request.htmx:
        if status != 200:
            return _show_page(request, bench, status=status, at=kind.name, bound=form)
        return redirect("bench:changes", bench.fit_session.pk)
    whole = status != 200 or form.was_refused
    fresh = form if status != 200 else kind.row_form.of(found)
    context = {"kind": kind.name, "row": found, "form": fresh, "saved_at": timezone.now()}
    response = show(request, bench, f"changes/{'_row' if whole else '_row_saved'}.html", context, status=status)
    if not whole:
        response["HX-Reswap"] = "none"
    return response
