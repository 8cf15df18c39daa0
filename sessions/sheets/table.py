"""Rows of a table, and the other slips that sections are made of."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from sessions.sheets.flow import Slip
from sessions.sheets.fonts import Style
from sessions.sheets.pen import HAIRLINE, THIN, Nib, Pen, Tone
from sessions.sheets.scene import Anchor
from sessions.sheets.typeset import PT_MM, Face, fitted, wrapped
from sessions.sheets.typeset import width_mm as width_mm_of

CELL_GAP_MM = 1.4
LEAST_INDENT_MM = 3.2
MARK_GAP_MM = 1.2
LEAST_SHARE = 0.8  # type shrinks to this share of its size before a cell takes another line


@dataclass(frozen=True, slots=True)
class Setting:
    """How closely a sheet is set: sizes of type [pt] and spaces [mm]."""

    body_pt: float
    small_pt: float
    heading_pt: float
    row_pad_mm: float
    heading_space_mm: float

    @property
    def body(self) -> Face:
        """The face of running text and tables."""
        return Face(self.body_pt)

    @property
    def small(self) -> Face:
        """The face of table heads, cautions and notes."""
        return Face(self.small_pt)

    @property
    def heading(self) -> Face:
        """The face of headings."""
        return Face(self.heading_pt, "bold")


ROOMY = Setting(8.0, 6.4, 7.2, 0.95, 3.6)
CLOSE = Setting(7.2, 6.0, 6.8, 0.6, 2.6)
TIGHT = Setting(6.4, 5.6, 6.4, 0.4, 2.0)


@dataclass(frozen=True, slots=True)
class Cell:
    """Text in one column of a row; `lines` is how many lines it may take."""

    text: str
    style: Style = "regular"
    tone: Tone = "ink"
    anchor: Anchor = "start"
    lines: int = 1


def row_slip(cells: Sequence[Cell], widths_mm: Sequence[float], setting: Setting) -> Slip:
    """A row: each cell is set in its column, shrunk or broken where it must be, with a hairline under all."""
    return _row(cells, widths_mm, setting.body, setting.row_pad_mm, HAIRLINE)


def head_slip(cells: Sequence[Cell], widths_mm: Sequence[float], setting: Setting) -> Slip:
    """The head of a table: small type over a stronger rule, kept with the row after it."""
    return replace(_row(cells, widths_mm, setting.small, setting.row_pad_mm, THIN), glued=True)


def _row(cells: Sequence[Cell], widths_mm: Sequence[float], face: Face, pad_mm: float, under: Nib) -> Slip:
    least = LEAST_SHARE * face.size_pt
    set_cells = [
        (cell, *fitted(cell.text, Face(face.size_pt, cell.style), least, width - CELL_GAP_MM, cell.lines))
        for cell, width in zip(cells, widths_mm, strict=True)
    ]
    height = max(max(1, len(lines)) * used.leading_mm for _, used, lines in set_cells) + 2 * pad_mm

    def draw(pen: Pen, left: float, top: float) -> None:
        x = left
        for (cell, used, lines), width in zip(set_cells, widths_mm, strict=True):
            at = {"start": x, "middle": x + (width - CELL_GAP_MM) / 2, "end": x + width - CELL_GAP_MM}[cell.anchor]
            for number, line in enumerate(lines):
                y = top - pad_mm - face.size_pt * PT_MM * 0.86 - number * used.leading_mm
                pen.text((at, y), line, used, tone=cell.tone, anchor=cell.anchor)
            x += width
        pen.lines([((left, top - height), (left + sum(widths_mm), top - height))], under)

    return Slip(height, draw)


def heading_slip(text: str, width_mm: float, setting: Setting) -> Slip:
    """A section's heading over a rule."""
    face, space = setting.heading, setting.heading_space_mm

    def draw(pen: Pen, left: float, top: float) -> None:
        y = top - space - face.leading_mm
        pen.text((left, y + 1.3), text, face, tone="accent")
        pen.lines([((left, y), (left + width_mm, y))], THIN)

    return Slip(space + face.leading_mm + 0.4, draw, glued=True, lead_mm=space)


def paragraph_slips(text: str, width_mm: float, face: Face, *, mark: str = "") -> Iterator[Slip]:
    """A text as one slip for each line, so that it may run on in the next column; `mark` hangs before the first."""
    indent = max(LEAST_INDENT_MM, width_mm_of(mark, face) + MARK_GAP_MM) if mark else 0.0
    for number, line in enumerate(wrapped(text, face, width_mm - indent)):
        yield _line_slip(line, face, indent, mark if number == 0 else "", first=number == 0)


def spaced(slip: Slip, space_mm: float) -> Slip:
    """The slip with space above it, which falls away at the top of a column."""

    def draw(pen: Pen, left: float, top: float) -> None:
        slip.draw(pen, left, top - space_mm)

    return replace(slip, height_mm=slip.height_mm + space_mm, draw=draw, lead_mm=space_mm)


def glued(slips: Iterable[Slip], *, to_next: bool = False) -> list[Slip]:
    """The same slips, kept together in one column; with `to_next`, together with the slip after them."""
    kept = list(slips)
    free = 0 if to_next else 1
    return [replace(slip, glued=True) for slip in kept[: len(kept) - free]] + kept[len(kept) - free :]


def _line_slip(line: str, face: Face, indent: float, mark: str, *, first: bool) -> Slip:
    pad = 0.7 if first else 0.0

    def draw(pen: Pen, left: float, top: float) -> None:
        y = top - pad - face.size_pt * PT_MM * 0.9
        if mark:
            pen.text((left, y), mark, face, tone="accent")
        pen.text((left + indent, y), line, face)

    return Slip(face.leading_mm + pad, draw)
