"""What is written on by hand: tick boxes, blanks for figures, rules for remarks."""

from collections.abc import Iterator, Sequence

from sessions.sheets.flow import Slip
from sessions.sheets.pen import HAIRLINE, Nib, Pen
from sessions.sheets.scene import Point
from sessions.sheets.typeset import Face, fitted, width_mm, wrapped

FACE = Face(8.0)
BOX = Nib(0.2, "ink")
BOX_MM = 3.0
BOX_GAP_MM = 1.2
BETWEEN_MM = 4.0
LINE_MM = 5.4
BLANK_MM = 16.0
REMARK_MM = 7.0
AREA_SHARE = 0.42
SCORE_MM = 9.0


def tick_box(pen: Pen, at: Point) -> None:
    """An empty box with its lower left corner at `at`."""
    pen.box(at[0], at[1], BOX_MM, BOX_MM, BOX)


def tick_slips(answers: Sequence[str], room_mm: float) -> Iterator[Slip]:
    """Answers, each with a box to tick, as many on a line as fit."""
    line: list[tuple[float, tuple[str, ...]]] = []
    x = 0.0
    for answer in answers:
        lines = wrapped(answer, FACE, room_mm - BOX_MM - BOX_GAP_MM)
        width = BOX_MM + BOX_GAP_MM + max((width_mm(part, FACE) for part in lines), default=0.0)
        if line and x + width > room_mm:
            yield _ticks(line)
            line, x = [], 0.0
        line.append((x, lines))
        x += width + BETWEEN_MM
    if line:
        yield _ticks(line)


def _ticks(line: Sequence[tuple[float, tuple[str, ...]]]) -> Slip:
    most = max(len(lines) for _, lines in line)

    def draw(pen: Pen, left: float, top: float) -> None:
        for x, lines in line:
            tick_box(pen, (left + x, top - 1.2 - BOX_MM))
            for number, part in enumerate(lines):
                pen.text((left + x + BOX_MM + BOX_GAP_MM, top - 3.6 - number * FACE.leading_mm), part, FACE)

    return Slip(LINE_MM + (most - 1) * FACE.leading_mm, draw)


def blanks_slips(blanks: Sequence[tuple[str, str]], room_mm: float) -> Iterator[Slip]:
    """A label, a line to write a figure on, and the unit after it; one to a row."""
    for label, unit in blanks:
        room = room_mm - BLANK_MM - width_mm(unit, FACE) - 4.0
        yield _blank(*fitted(label, FACE, 0.8 * FACE.size_pt, room, 2), unit, room_mm)


def _blank(face: Face, lines: tuple[str, ...], unit: str, room_mm: float) -> Slip:
    height = LINE_MM + 0.6 + max(0, len(lines) - 1) * face.leading_mm

    def draw(pen: Pen, left: float, top: float) -> None:
        for number, part in enumerate(lines):
            pen.text((left, top - 4.2 - number * face.leading_mm), part, face)
        end = left + room_mm - width_mm(unit, FACE) - 1.2
        foot = top - height + 1.4
        pen.lines([((end - BLANK_MM, foot - 0.4), (end, foot - 0.4))], BOX)
        pen.text((left + room_mm, foot), unit, FACE, anchor="end")

    return Slip(height, draw)


def blank_lines(count: int, room_mm: float) -> Iterator[Slip]:
    """Empty rules to write on."""

    def draw(pen: Pen, left: float, top: float) -> None:
        pen.lines([((left, top - REMARK_MM), (left + room_mm, top - REMARK_MM))], HAIRLINE)

    return (Slip(REMARK_MM, draw) for _ in range(count))


def discomfort_slip(area: str, sides: Sequence[str], score: str, room_mm: float) -> Slip:
    """A part of the body with a box for each side and, after each, a blank for its 0 to 10."""
    face, lines = fitted(area, FACE, 0.8 * FACE.size_pt, AREA_SHARE * room_mm - 2.0, 2)
    height = LINE_MM + 0.8 + max(0, len(lines) - 1) * face.leading_mm
    step = (1 - AREA_SHARE) * room_mm / 2

    def draw(pen: Pen, left: float, top: float) -> None:
        for number, part in enumerate(lines):
            pen.text((left, top - 4.0 - number * face.leading_mm), part, face)
        for number, side in enumerate(sides):
            x = left + AREA_SHARE * room_mm + number * step
            tick_box(pen, (x, top - 1.6 - BOX_MM))
            pen.text((x + BOX_MM + BOX_GAP_MM, top - 4.0), side, FACE)
            end = x + step - 2.0
            pen.lines([((end - SCORE_MM, top - 4.6), (end, top - 4.6))], BOX)
            pen.text((end - SCORE_MM / 2, top - 4.0), score, Face(4.6), tone="rule", anchor="middle")
        pen.lines([((left, top - height), (left + room_mm, top - height))], HAIRLINE)

    return Slip(height, draw)
