"""What the closing page lists: places that hurt, what may have eaten time, and how far the safety list is."""

from collections.abc import Container
from dataclasses import dataclass

from django.utils.translation import gettext as _

from intake.catalogue.schema import Catalogue
from intake.models import Discomfort, PreVisitCheck
from intake.models.previsit import Phase
from intake.selectors.catalogue import current_catalogue
from intake.selectors.discomfort import Place, body_map
from intake.selectors.triage import Told
from sessions.models import FitRecord, FitSession, TimeLoss
from sessions.selectors.bench.home import triage_line


@dataclass(frozen=True)
class FeltPlace:
    """One place of the body, with what was said of it before and after the changes."""

    place: Place
    before: Discomfort | None
    after: Discomfort | None


def felt_places(pre_visit: PreVisitCheck) -> tuple[list[FeltPlace], list[Place]]:
    """Return the places that hurt before or were asked about after, and all others: one query."""
    rows = list(pre_visit.discomforts.all())
    later = {(row.area, row.side): row for row in rows if row.phase == Phase.AFTER}
    told = Told(discomforts=[row for row in rows if row.phase == Phase.BEFORE])
    felt, others = [], []
    for place in body_map(told, current_catalogue()).places:
        after = later.get((place.area, place.side))
        if after is not None or (place.row is not None and place.row.score):
            felt.append(FeltPlace(place, place.row, after))
        else:
            others.append(place)
    return felt, others


@dataclass(frozen=True)
class Eater:
    """Something that may have eaten time: a finding, a check, or anything else (an empty key)."""

    key: str
    label: str
    row: TimeLoss | None


@dataclass(frozen=True)
class Eaters:
    """What is likely to have eaten time or did, and what else could have, group by group: (group, ((finding key, title), …))."""

    likely: tuple[Eater, ...]
    groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


def time_eaters(record: FitRecord, fit_session: FitSession) -> Eaters:
    """Return what the triage found and what was noted already, and every other fault that can take time: nine queries."""
    kept = {row.finding_key: row for row in record.time_losses.all()}
    triage, catalogue = triage_line(fit_session).triage, current_catalogue()
    titles = catalogue.titles()
    found = [finding.key for finding in triage.findings if finding.minutes is not None]
    keys = dict.fromkeys([*found, *(key for key in kept if key)])
    likely = [Eater(key, titles.get(key, key), kept.get(key)) for key in keys]
    likely.append(Eater("", _("Anything that no check could have found"), kept.get("")))
    return Eaters(tuple(likely), _others(catalogue, keys))


def _others(catalogue: Catalogue, listed: Container[str]) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    faults: dict[str, list[tuple[str, str]]] = {}
    for check in catalogue.checks:
        for fault in check.faults:
            key = f"{check.key}.{fault.key}"
            if fault.minutes is not None and key not in listed:
                faults.setdefault(check.group.value, []).append((key, fault.title))
    return tuple((group, tuple(options)) for group, options in faults.items())
