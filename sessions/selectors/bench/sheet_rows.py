"""Both positions of a record as figures to read: the same rows and drawings on the bench, on the sheet and on its print."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from intake.models import Bike
from intake.models.previsit import Phase
from sessions.geometry.changes import REAL_FACTOR, Change
from sessions.geometry.dimensions import Dimension
from sessions.selectors.bench.positions import Positions, drawn_points
from sessions.selectors.bike_facts import drawing_facts
from sessions.sheets.bike_points import FarPoint
from sessions.sheets.bike_view import BikeView, bike_view
from sessions.sheets.content import PositionRow, SideRow
from sessions.sheets.numbers import NOTHING, NumberStyle
from sessions.sheets.rows import position_row, side_row
from sessions.sheets.words import ENGLISH_DRAWING, DrawingWords

WIDE = {"width_mm": 170.0, "height_mm": 140.0, "text_mm": 3.1}
# Narrow, with large type and without changes, which the tables tell, so that the drawing can be read on a phone.
NARROW = {"width_mm": 108.0, "height_mm": 160.0, "text_mm": 4.0, "changes": False}


@dataclass(frozen=True)
class DimensionRow:
    """One dimension of one position, with its uncertainty at 95 %."""

    letter: str
    label: str
    value: str
    uncertainty: str


def kept_keys(keys: Collection[str]) -> tuple[str, ...]:
    """Return the dimensions worth a row of their own, without those that another row says better.

    Left against right has a table of its own; a height above the bottom bracket is not repeated beside the one above the
    floor, nor the distance to each hood beside the one to their middle.

    >>> kept_keys(["hood_height_left", "hood_stack_left", "hood_height_difference"])
    ('hood_height_left',)
    """
    return tuple(key for key in keys if not key.endswith("_difference") and _said_better(key) not in keys)


def _said_better(key: str) -> str:
    if "_stack_" in key:
        return key.replace("_stack_", "_height_")
    return "nose_to_hood" if key.startswith("nose_to_hood_") else ""


def position_rows(positions: Positions, style: NumberStyle, letters: Mapping[str, str]) -> tuple[PositionRow, ...]:
    """Return the position table: before, after, change with its uncertainty, and whether it is real."""
    shown = _ordered(positions)
    return tuple(_position_row(change, positions.untouched, style, letters) for change in shown)


def _ordered(positions: Positions) -> Iterable[Change]:
    changes = {change.key: change for change in positions.changes}
    return (changes[key] for key in kept_keys(tuple(changes)))


def _position_row(
    change: Change, untouched: Collection[str], style: NumberStyle, letters: Mapping[str, str]
) -> PositionRow:
    row = position_row(change, style, letter=letters.get(change.key, ""))
    if change.key in untouched and change.before and change.after:
        # Nothing was measured anew, so there is no change to be sure of: that it was left alone is the fitter's word.
        return replace(row, change=_("not touched"), uncertainty=NOTHING, real=None)
    return row


def side_rows(positions: Positions, style: NumberStyle) -> tuple[SideRow, ...]:
    """Return left against right, as it is now."""
    return tuple(side_row(side, style) for side in positions.sides)


def dimension_rows(
    dimensions: Iterable[Dimension], style: NumberStyle, letters: Mapping[str, str]
) -> tuple[DimensionRow, ...]:
    """Return the dimensions of one position."""
    known = {each.key: each for each in dimensions}
    return tuple(_dimension_row(known[key], style, letters) for key in kept_keys(tuple(known)))


def _dimension_row(each: Dimension, style: NumberStyle, letters: Mapping[str, str]) -> DimensionRow:
    value, uncertainty = style.value(each.unit, each.value), style.value(each.unit, REAL_FACTOR * each.sigma)
    return DimensionRow(letters.get(each.key, ""), each.label, value, uncertainty)


def points_of(positions: Positions, phase: str) -> dict[str, FarPoint]:
    """Return the points of one phase for a drawing."""
    return drawn_points(positions.of(phase))


def screen_view(positions: Positions, phase: str, bike: Bike, style: NumberStyle) -> BikeView:
    """Return the side view as the bench shows it: after the changes with before under it."""
    after = points_of(positions, Phase.AFTER) if phase == Phase.AFTER else {}
    return bike_view(
        points_of(positions, Phase.BEFORE),
        after,
        facts=drawing_facts(positions, bike),
        **NARROW,
        style=style,
        words=drawing_words(after),
    )


def drawing_words(points_after: Mapping[str, FarPoint]) -> DrawingWords:
    """Return the drawing's words: where only the position before is known, the one line that is drawn is called so."""
    return ENGLISH_DRAWING if points_after else replace(ENGLISH_DRAWING, after=ENGLISH_DRAWING.before)
