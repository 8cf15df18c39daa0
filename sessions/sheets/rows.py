"""From figures to printed rows: millimetres or inches, the change with its uncertainty, and whether it is real."""

from sessions.geometry.changes import REAL_FACTOR, Change, SideDifference
from sessions.geometry.dimensions import Dimension
from sessions.geometry.limits import Unit
from sessions.sheets.content import PositionRow, SideRow
from sessions.sheets.numbers import NOTHING, NumberStyle


def position_row(change: Change, style: NumberStyle, *, label: str = "", letter: str = "") -> PositionRow:
    """One row of the position table.

    Parameters
    ----------
    change
        One dimension before and after.
    style
        Unit and decimal mark.
    label
        The dimension's name in the reader's language; without it the English one.
    letter
        Its letter on the drawing, from `BikeView.letters`.

    Notes
    -----
    The uncertainty that is printed is 1.96·σ(Δ), so a change is real exactly where it is larger than that.
    """
    unit = change.unit
    return PositionRow(
        label or change.label,
        _value(change.before, style),
        _value(change.after, style),
        NOTHING if change.delta is None else style.value(unit, change.delta, signed=True),
        _uncertainty(unit, change.sigma, style),
        change.real,
        letter,
    )


def side_row(side: SideDifference, style: NumberStyle, *, label: str = "") -> SideRow:
    """One row of the left-and-right table; the difference is left minus right."""
    return SideRow(
        label or side.label,
        _value(side.left, style),
        _value(side.right, style),
        style.value(side.unit, side.difference, signed=True),
        _uncertainty(side.unit, side.sigma, style),
        side.real,
    )


def _value(dimension: Dimension | None, style: NumberStyle) -> str:
    return NOTHING if dimension is None else style.value(dimension.unit, dimension.value)


def _uncertainty(unit: Unit, sigma: float | None, style: NumberStyle) -> str:
    return NOTHING if sigma is None else style.value(unit, REAL_FACTOR * sigma)
