"""The locked map as the desk reads it: what the session needs first, and because of which findings."""

from dataclasses import dataclass

from intake.catalogue.schema import Adjustment, BikeKind, Freedom
from intake.models import Bike
from intake.models.bikes import BarKind
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.locked import AdjustmentState
from sessions.models.studios import ADJUSTMENT_LABELS
from sessions.selectors.review.finding_cards import MARKS
from sessions.selectors.review.given_answers import slug_of
from sessions.selectors.review.words import percent_words

PADS = frozenset({Adjustment.PAD_HEIGHT, Adjustment.PAD_REACH, Adjustment.PAD_WIDTH})


@dataclass(frozen=True)
class MapRow:
    """One adjustment: its mark, what it may come to if what is only likely is there, and what stands in its way."""

    label: str
    mark: str
    possibly: str
    chance_locked: str
    is_essential: bool
    because: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class LockedMap:
    """The adjustments that the session needs or that something holds, and in one line those that are simply free."""

    rows: tuple[MapRow, ...]
    free: tuple[str, ...]


def locked_map_of(triage: Triage, bike: Bike) -> LockedMap:
    """Return the locked map; pads are left out of bikes that have none, as far as is known."""
    has_pads = bike.bar_kind == BarKind.AERO or (not bike.bar_kind and bike.kind == BikeKind.TRIATHLON)
    states = [each for each in triage.adjustments.values() if has_pads or each.adjustment not in PADS or _matters(each)]
    states.sort(key=lambda each: (not each.essential, -each.freedom, -each.possibly))
    titles = {finding.key: finding for finding in triage.findings}
    return LockedMap(
        rows=tuple(_row(each, titles) for each in states if _matters(each)),
        free=tuple(str(ADJUSTMENT_LABELS[each.adjustment]) for each in states if not _matters(each)),
    )


def _matters(state: AdjustmentState) -> bool:
    return state.essential or state.possibly is not Freedom.FREE


def _row(state: AdjustmentState, findings: dict[str, Finding]) -> MapRow:
    return MapRow(
        label=str(ADJUSTMENT_LABELS[state.adjustment]),
        mark=MARKS[state.freedom],
        possibly=MARKS[state.possibly] if state.possibly is not state.freedom else "",
        chance_locked=percent_words(100 * state.chance_locked),
        is_essential=state.essential,
        because=tuple((slug_of(key), findings[key].title) for key in state.because),
    )
