"""How rows that save by themselves are kept and answered: one in place, or all of a form by its button."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from intake.edge.http import HtmxRequest
from sessions.forms.bench.measures import RowForm
from sessions.selectors.bench.records import Bench
from sessions.services.bench.errors import FitRefusal, TextConflictError
from sessions.views.bench.closing_page import show_closing
from sessions.views.bench.door import INVALID, refused, show

Forms = Callable[[object], Sequence[RowForm]]


@dataclass(frozen=True)
class Section:
    """A section of the closing page: its name, its forms around what is stored or posted, and how a row is kept."""

    name: str
    forms: Forms
    save: Callable[[RowForm], object]


def keep(request: HtmxRequest, bench: Bench, section: Section) -> HttpResponse:
    """Keep what was changed in a section, and answer with what is new."""
    posted = list(section.forms(request.POST))
    if request.htmx:
        posted = [form for form in posted if form.row_id == request.htmx.trigger] or posted[:1]
    try:
        wrong = [form for form in posted if not _keep_one(form, section)]
    except FitRefusal as refusal:
        status = refused(request, refusal)
        return HttpResponse(status=status) if request.htmx else _page(request, bench, section, posted, status)
    if request.htmx:
        return _row(request, bench, section, posted, is_wrong=bool(wrong))
    return _page(request, bench, section, wrong, INVALID) if wrong else back(bench, section.name)


def _keep_one(form: RowForm, section: Section) -> bool:
    """Keep a changed row; return whether nothing is left to put right in it."""
    if not form.has_changed():
        return True
    if not form.is_valid():
        return False
    try:
        section.save(form)
    except TextConflictError as conflict:
        form.meet(conflict)
        return False
    return True


def _row(
    request: HtmxRequest, bench: Bench, section: Section, posted: Sequence[RowForm], *, is_wrong: bool
) -> HttpResponse:
    """Answer with one row: all of it where its errors come or go, else only what is said beside it."""
    if not posted:
        return HttpResponse(status=204)
    form = posted[0]
    whole = is_wrong or form.was_refused or form.is_shown_whole
    if not is_wrong:
        form = next((fresh for fresh in section.forms(None) if fresh.row_id == form.row_id), form)
    context = {"form": form, "saved_at": None if is_wrong else timezone.now(), "section_name": section.name}
    context |= {"open_count": bench.open_count}
    template = f"closing/_{section.name}{'' if whole else '_saved'}.html"
    response = show(request, bench, template, context, status=INVALID if is_wrong else 200)
    if not whole:
        response["HX-Reswap"] = "none"
    return response


def _page(request: HtmxRequest, bench: Bench, section: Section, wrong: Sequence[RowForm], status: int) -> HttpResponse:
    """Show the page with the rows to be put right as they were typed, the others as they are stored."""
    by_id = {form.row_id: form for form in wrong}
    forms = [by_id.get(form.row_id, form) for form in section.forms(None)]
    changed = {
        f"{section.name}_forms": forms,
        "refused_forms": [form for form in wrong if form.errors],
        "others_kept": True,
    }
    return show_closing(request, bench, changed, status)


def back(bench: Bench, section: str) -> HttpResponse:
    """Lead back to a section of the closing page."""
    response = redirect("bench:closing", bench.fit_session.pk)
    response["Location"] += f"#{section}"
    return response


def keep_new(
    request: HtmxRequest, bench: Bench, section: str, name: str, form: RowForm, save: Callable[[RowForm], object]
) -> HttpResponse:
    """Keep a row that is added, and lead back to its section."""
    status = 200
    if not form.is_valid():
        status = INVALID
    else:
        try:
            save(form)
        except FitRefusal as refusal:
            status = refused(request, refusal)
    if status == 200:
        return back(bench, section)
    return show_closing(request, bench, {name: form, "refused_forms": [form] if form.errors else []}, status)
