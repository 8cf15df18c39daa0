"""The title block at the bottom right of a sheet, as on a technical drawing."""

from collections.abc import Sequence
from dataclasses import dataclass

from sessions.sheets.boxes import Box
from sessions.sheets.numbers import NOTHING
from sessions.sheets.pen import Nib, Pen
from sessions.sheets.typeset import PT_MM, Face, fitted

WIDTH_MM = 122.0
LABEL = Face(5.2)
VALUE = Face(9.0, "bold")
LEAST_PT = 5.6
GRID = Nib(0.14, "ink")
OUTLINE = Nib(0.3, "ink")
PAD_MM = 1.3


@dataclass(frozen=True, slots=True)
class Field:
    """One cell of the block: a small label, a value, a lesser line below it, and its share of the row."""

    label: str
    value: str
    share: float = 1.0
    below: str = ""


Rows = Sequence[tuple[float, Sequence[Field]]]


def block_height_mm(rows: Rows) -> float:
    """Height of the whole block [mm]."""
    return sum(height for height, _ in rows)


def draw_block(pen: Pen, frame: Box, rows: Rows) -> Box:
    """Draw rows of fields into the bottom right corner of the frame and return the box that they take."""
    box = Box(frame.right - WIDTH_MM, frame.bottom, frame.right, frame.bottom + block_height_mm(rows))
    pen.lines([((box.left, box.bottom), (box.left, box.top)), ((box.left, box.top), (box.right, box.top))], OUTLINE)
    top = box.top
    for height, fields in rows:
        if top < box.top:
            pen.lines([((box.left, top), (box.right, top))], GRID)
        _draw_row(pen, box, top, height, fields)
        top -= height
    return box


def _draw_row(pen: Pen, box: Box, top: float, height: float, fields: Sequence[Field]) -> None:
    x, whole = box.left, sum(field.share for field in fields)
    for field in fields:
        width = box.width * field.share / whole
        if x > box.left:
            pen.lines([((x, top), (x, top - height))], GRID)
        _draw_field(pen, Box(x, top - height, x + width, top), field)
        x += width


def _draw_field(pen: Pen, cell: Box, field: Field) -> None:
    """The label on top, the value as large as it fits below it, the lesser line at the foot."""
    room = cell.width - 2 * PAD_MM
    y = cell.top - PAD_MM - LABEL.size_pt * PT_MM * 0.7
    if field.label:
        pen.text((cell.left + PAD_MM, y), field.label, LABEL, tone="soft")
        y -= 0.5
    foot = cell.bottom + PAD_MM * 0.8
    if field.below:
        face, lines = fitted(field.below, Face(6.6), LEAST_PT - 0.6, room, 1)
        pen.text((cell.left + PAD_MM, foot + 0.3), lines[0] if lines else "", face, tone="soft")
        foot += face.leading_mm
    _draw_value(pen, cell.left + PAD_MM, y if field.label else cell.top - PAD_MM, foot, room, field.value or NOTHING)


def _draw_value(pen: Pen, left: float, top: float, foot: float, room: float, value: str) -> None:
    most = max(1, int((top - foot) / (LEAST_PT * PT_MM * 1.22)))
    face, lines = fitted(value, VALUE, LEAST_PT, room, most)
    while len(lines) * face.leading_mm > top - foot + 0.6 and face.size_pt > LEAST_PT:
        face, lines = fitted(value, face.at(face.size_pt * 0.94), LEAST_PT, room, most)
    y = top - face.size_pt * PT_MM * 0.92
    for line in lines:
        pen.text((left, y), line, face)
        y -= face.leading_mm
