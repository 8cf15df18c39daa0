"""From rows to what a fit sheet says: one builder for the page, the print and the drawing."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from intake.edge.words import place_label
from intake.models import Discomfort
from intake.models.clients import Client
from intake.models.previsit import Phase
from intake.selectors.catalogue import current_catalogue
from sessions.models import ComponentChange as ChangeRecord
from sessions.models import FitRecord, FitSession, PartToOrder, SafetyEntry
from sessions.models.fits import SafetyState
from sessions.safety import BY_KEY
from sessions.selectors.bench.positions import positions_of
from sessions.selectors.bench.sheet_rows import drawing_words, points_of, position_rows, side_rows
from sessions.selectors.bike_facts import drawing_facts
from sessions.selectors.letterhead import letterhead
from sessions.sheets.bike_view import bike_view
from sessions.sheets.content import Bike, ComponentChange, DiscomfortRow, FitSheet, Paper, Rider, SafetyItem
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.words import ENGLISH, STANDING_CAUTIONS


def fit_sheet_of(record: FitRecord, *, paper: Paper | None = None) -> FitSheet:
    """Return what the sheet of a record says, in the rider's unit: five queries.

    Let the record come with its session and what belongs to it (``bench_of``).
    """
    fit_session = record.fit_session
    style = NumberStyle(fit_session.client.length_unit)
    positions = positions_of(record)
    before, after = points_of(positions, Phase.BEFORE), points_of(positions, Phase.AFTER)
    facts = drawing_facts(positions, fit_session.bike)
    letters = bike_view(before, after, facts=facts, style=style).letters
    entries = _in_order(record.safety_entries.all())
    return FitSheet(
        **_heading(fit_session),
        paper=paper or fit_session.studio.paper,
        points_before=before,
        points_after=after,
        facts=facts,
        rows=position_rows(positions, style, letters),
        side_rows=side_rows(positions, style),
        changes=tuple(_change(row) for row in record.component_changes.all()),
        parts=tuple(_part(row) for row in record.parts_to_order.all()),
        discomfort=tuple(_felt(fit_session.pre_visit.discomforts.all())),
        notes=record.notes,
        next_visit=_next_visit(record),
        safety=tuple(_looked_at(entries)),
        cautions=(*_not_done(entries), *STANDING_CAUTIONS),
        style=style,
        words=replace(ENGLISH, drawing=drawing_words(after)),
        language=get_language() or "en",
    )


def _heading(fit_session: FitSession) -> dict[str, object]:
    day = timezone.localtime(fit_session.starts_at, fit_session.studio.zone).date()
    return {
        "studio": letterhead(fit_session.studio),
        "rider": _rider(fit_session.client),
        "bike": _bike(fit_session),
        "date": date_format(day, "j F Y"),
        "service": fit_session.service.name,
        "fitter": fit_session.fitter.name,
    }


def _rider(client: Client) -> Rider:
    return Rider(client.name, client.latin_name)


def _bike(fit_session: FitSession) -> Bike:
    bike = fit_session.bike
    parts = [str(bike.get_kind_display()), bike.frame_size, bike.saddle]
    return Bike(bike.name, ", ".join(part for part in parts if part))


def _change(row: ChangeRecord) -> ComponentChange:
    what = str(row.get_component_display()).capitalize()
    return ComponentChange(f"{what} ({row.note})" if row.note else what, row.was, row.now)


def _part(row: PartToOrder) -> str:
    return f"{row.part}: {row.why}" if row.why else row.part


def _felt(rows: list[Discomfort]) -> Iterator[DiscomfortRow]:
    """Yield each place once, in the order of the body, with its score before and after; nothing where nothing was ever felt."""
    areas = {area.key: (place, area.label) for place, area in enumerate(current_catalogue().areas)}
    scores: dict[tuple[int, str, str], dict[str, str]] = {}
    for row in rows:
        place, label = areas.get(row.area, (len(areas), row.area))
        scores.setdefault((place, label, row.side), {})[row.phase] = str(row.score)
    for (_place, label, side), by_phase in sorted(scores.items()):
        if any(score != "0" for score in by_phase.values()):
            yield DiscomfortRow(
                place_label(label, side) if side else label,
                by_phase.get(Phase.BEFORE, ""),
                by_phase.get(Phase.AFTER, ""),
            )


def _next_visit(record: FitRecord) -> str:
    day = date_format(record.follow_up_on, "j F Y") if record.follow_up_on else ""
    return ": ".join(part for part in (day, record.follow_up_note) if part)


def _in_order(rows: Iterable[SafetyEntry]) -> list[SafetyEntry]:
    keys = list(BY_KEY)
    return sorted(rows, key=lambda row: keys.index(row.item) if row.item in BY_KEY else len(keys))


def _looked_at(entries: list[SafetyEntry]) -> Iterator[SafetyItem]:
    """Yield the lines of the closing list that apply to this bike."""
    for entry in entries:
        if entry.state != SafetyState.NOT_APPLICABLE:
            label = str(BY_KEY[entry.item].label) if entry.item in BY_KEY else entry.item
            yield SafetyItem(label, done=entry.state == SafetyState.DONE, value=_said(entry))


def _said(entry: SafetyEntry) -> str:
    told = _("not done, the rider was told") if entry.state == SafetyState.NOT_DONE else ""
    return "; ".join(part for part in (told, entry.torque_as_printed, entry.note) if part)


def _not_done(entries: list[SafetyEntry]) -> Iterator[str]:
    """Yield one caution that names what was left undone, ahead of those that stand on every sheet."""
    undone = [
        str(BY_KEY[entry.item].label)
        for entry in entries
        if entry.state == SafetyState.NOT_DONE and entry.item in BY_KEY
    ]
    if undone:
        yield _("Not done at the studio: %(lines)s. Do not ride until a qualified mechanic has done it.") % {
            "lines": "; ".join(undone)
        }
