"""The closing page with all its forms, around what is stored."""

from datetime import timedelta

from django.http import HttpResponse
from django.utils import timezone

from intake.catalogue.schema import Group
from intake.edge.http import HtmxRequest
from intake.edge.words import GROUP_LABELS
from sessions.forms.bench.closing import FeelsNowForm, NewPlaceForm, NewTimeLossForm, SafetyForm, TimeLossForm
from sessions.forms.bench.details import NextVisitForm, NotesForm
from sessions.safety import lines_for
from sessions.selectors.bench.closing import felt_places, time_eaters
from sessions.selectors.bench.records import Bench, safety_entries
from sessions.views.bench.door import show

TWO_YEARS = timedelta(days=731)


def show_closing(
    request: HtmxRequest, bench: Bench, changed: dict[str, object] | None = None, status: int = 200
) -> HttpResponse:
    """Show the page; ``changed`` holds forms to be put right in place of those around what is stored."""
    context = {"step_key": "closing", **closing_context(bench), **(changed or {})}
    return show(request, bench, "closing/page.html", context, status=status)


def closing_context(bench: Bench) -> dict[str, object]:
    """Return the page's forms around what is stored."""
    feels, new_place = feels_forms(bench)
    losses, new_loss = loss_forms(bench)
    return {
        "feels_forms": feels,
        "new_place_form": new_place,
        "notes_forms": notes_forms(bench),
        "visit_forms": visit_forms(bench),
        "safety_forms": safety_forms(bench),
        "lost_forms": losses,
        "new_loss_form": new_loss,
        "has_losses": any(form.row for form in losses),
        "open_count": bench.open_count,
    }


def feels_forms(bench: Bench, data: object = None) -> tuple[list[FeelsNowForm], NewPlaceForm]:
    """Return a row for each place that hurts, and the form for another."""
    felt, others = felt_places(bench.fit_session.pre_visit)
    rows = [FeelsNowForm(each.place, before=each.before, row=each.after, data=data) for each in felt]
    return rows, NewPlaceForm(others, data=data)


def notes_forms(bench: Bench, data: object = None) -> list[NotesForm]:
    """Return the form of the notes."""
    return [NotesForm(data, prefix="rider", initial={"notes": bench.record.notes})]


def visit_forms(bench: Bench, data: object = None) -> list[NextVisitForm]:
    """Return the form of the next visit."""
    day = timezone.localtime(bench.fit_session.starts_at, bench.fit_session.studio.zone).date()
    return [NextVisitForm(data, prefix="visit", record=bench.record, earliest=day, latest=day + TWO_YEARS)]


def safety_forms(bench: Bench, data: object = None, *, closing: bool = False) -> list[SafetyForm]:
    """Return a row for each line of the safety list."""
    entries, lines = safety_entries(bench.record), lines_for(bench.fit_session.bike)
    return [SafetyForm(line, entry=entries.get(line.key), closing=closing, data=data) for line in lines]


def loss_forms(bench: Bench, data: object = None) -> tuple[list[TimeLossForm], NewTimeLossForm]:
    """Return a row for whatever may have eaten time, and the form for more."""
    eaters = time_eaters(bench.record, bench.fit_session)
    rows = [TimeLossForm(each.key, each.label, row=each.row, data=data) for each in eaters.likely]
    return rows, NewTimeLossForm(
        [(GROUP_LABELS[Group(group)], list(faults)) for group, faults in eaters.groups], data=data
    )
