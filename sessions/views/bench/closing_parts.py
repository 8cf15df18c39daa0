"""The sections of the closing page, each kept by itself: how it feels now, what the rider is told, safety, lost time."""

from django.http import HttpResponse
from django.views.decorators.http import require_POST

from intake.edge.access import staff_page
from intake.edge.http import HtmxRequest
from intake.selectors.discomfort import Place
from sessions.forms.bench.measures import RowForm
from sessions.selectors.bench.records import Bench
from sessions.services.bench.closing import save_nothing_lost, save_safety_line, save_time_loss
from sessions.services.bench.details import save_discomfort_after, save_next_visit, save_notes
from sessions.services.bench.errors import FitRefusal
from sessions.views.bench.closing_page import (
    feels_forms,
    loss_forms,
    notes_forms,
    safety_forms,
    show_closing,
    visit_forms,
)
from sessions.views.bench.door import refused, with_record
from sessions.views.bench.keeping import Section, back, keep, keep_new


@staff_page
@require_POST
@with_record
def feels(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep how places feel now."""

    def save(form: RowForm) -> None:
        _save_place(bench, form.place, form.cleaned_data["score"])

    return keep(request, bench, Section("feels", lambda data: feels_forms(bench, data)[0], save))


@staff_page
@require_POST
@with_record
def new_place(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep how another place feels."""

    def save(form: RowForm) -> None:
        _save_place(bench, form.chosen, form.cleaned_data["score"])

    return keep_new(request, bench, "feels", "new_place_form", feels_forms(bench, request.POST)[1], save)


def _save_place(bench: Bench, place: Place, score: int | None) -> None:
    save_discomfort_after(record=bench.record, area=place.area, side=place.side, score=score)


@staff_page
@require_POST
@with_record
def notes(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep the notes; what another device wrote meanwhile is not lost."""

    def save(form: RowForm) -> None:
        save_notes(record=bench.record, notes=form.cleaned_data["notes"], seen=form.seen)
        bench.record.notes = form.cleaned_data["notes"]

    return keep(request, bench, Section("notes", lambda data: notes_forms(bench, data), save))


@staff_page
@require_POST
@with_record
def next_visit(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep when to come again, and what for."""

    def save(form: RowForm) -> None:
        save_next_visit(record=bench.record, changed=form.changed)
        for name, value in form.changed.items():
            setattr(bench.record, name, value)

    return keep(request, bench, Section("visit", lambda data: visit_forms(bench, data), save))


@staff_page
@require_POST
@with_record
def safety(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep lines of the safety list."""

    def save(form: RowForm) -> None:
        save_safety_line(record=bench.record, item=form.line.key, changed=form.changed, by=request.user)

    return keep(request, bench, Section("safety", lambda data: safety_forms(bench, data), save))


@staff_page
@require_POST
@with_record
def time_lost(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep what ate time."""

    def save(form: RowForm) -> None:
        _save_loss(bench, form.key, form)

    return keep(request, bench, Section("lost", lambda data: loss_forms(bench, data)[0], save))


@staff_page
@require_POST
@with_record
def new_time_lost(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep something else that ate time."""

    def save(form: RowForm) -> None:
        _save_loss(bench, form.cleaned_data["check"], form)

    return keep_new(request, bench, "lost", "new_loss_form", loss_forms(bench, request.POST)[1], save)


@staff_page
@require_POST
@with_record
def nothing_lost(request: HtmxRequest, bench: Bench) -> HttpResponse:
    """Keep that nothing ate time, or take it back."""
    try:
        save_nothing_lost(record=bench.record, said=request.POST.get("said") != "no")
    except FitRefusal as refusal:
        return show_closing(request, bench, status=refused(request, refusal))
    return back(bench, "lost")


def _save_loss(bench: Bench, key: str, form: RowForm) -> None:
    given = form.cleaned_data
    save_time_loss(record=bench.record, finding_key=key, minutes=given["minutes"], note=given.get("note", ""))
