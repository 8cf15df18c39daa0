"""Under the side view: the ground, the scale with its bar, and what each kind of line stands for."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from sessions.sheets.board import CLEAR_MM, Board
from sessions.sheets.boxes import Box, text_width_mm
from sessions.sheets.numbers import MM_PER_INCH, NumberStyle
from sessions.sheets.scales import scale_text
from sessions.sheets.scene import Item, Line, Marker, Point, Polyline, Text, arrow_head
from sessions.sheets.words import DrawingWords

GROUND_TICK_MM = 2.5
GROUND_OVERHANG_MM = 1.2
BAR_MM = {"mm": 100.0, "in": 4 * MM_PER_INCH}
BAR_STEPS = 2
BAR_WORDS = {"mm": "200 mm", "in": "8 in"}
SAMPLE_MM = 8.0
GAP_MM = 4.0
ROW_EM = 1.7


@dataclass(frozen=True, slots=True)
class Entry:
    """A sample of a line and the word for it; `draw` gives the sample with its left end at a point."""

    width_mm: float
    word: str
    draw: Callable[[Point], Iterable[Item]]


def ground(bounds: Box, y: float) -> Iterator[Item]:
    """The ground line with hatch strokes below it, as a section drawing marks earth."""
    left, right = bounds.left, bounds.right + GROUND_OVERHANG_MM
    yield Line((left, y), (right, y), "ground")
    count = max(1, min(200, int((right - left) / GROUND_TICK_MM)))
    for step in range(1, count + 1):
        x = left + step * (right - left) / count
        yield Line((x, y), (x - 1.0, y - 1.3), "ground")


def lay_foot(board: Board, entries: Sequence[Entry], room_mm: float) -> None:
    """Write the entries in rows under everything on the board, as many to a row as the room allows."""
    bounds, size = board.bounds, board.text_mm
    room_mm -= 2 * CLEAR_MM
    rows = list(_rows(entries, size, room_mm))
    widest = max(_row_width(row, size) for row in rows)
    left = min(bounds.left, max((bounds.left + bounds.right - widest) / 2, bounds.right - room_mm))
    y = bounds.bottom - 1.9 * size
    for row in rows:
        x = left
        for entry in row:
            board.add(entry.draw((x, y)))
            board.place_text(Text((x + entry.width_mm + 1.2, y), entry.word, size, "note"))
            x += _width(entry, size) + GAP_MM
        y -= ROW_EM * size


def foot_height_mm(entries: Sequence[Entry], size: float, room_mm: float) -> float:
    """How much height `lay_foot` will take, with the ground's hatch strokes."""
    return (0.9 + ROW_EM * len(list(_rows(entries, size, room_mm - 2 * CLEAR_MM)))) * size + 2.0


def _rows(entries: Sequence[Entry], size: float, room_mm: float) -> Iterator[list[Entry]]:
    row: list[Entry] = []
    for entry in entries:
        if row and _row_width([*row, entry], size) > room_mm:
            yield row
            row = []
        row.append(entry)
    yield row


def _width(entry: Entry, size: float) -> float:
    return entry.width_mm + 1.2 + text_width_mm(entry.word, size)


def _row_width(row: Sequence[Entry], size: float) -> float:
    return sum(_width(entry, size) + GAP_MM for entry in row) - GAP_MM


def foot_entries(
    scale: int, style: NumberStyle, words: DrawingWords, size: float, *, before: bool, schematic: bool
) -> Iterator[Entry]:
    """The scale bar and the legend of what is drawn."""
    bar = BAR_STEPS * BAR_MM[style.unit] / scale
    yield Entry(bar, BAR_WORDS[style.unit], lambda at: _scale_bar(at, scale, style))
    yield Entry(-1.2, f"{words.scale} {scale_text(scale)}", lambda at: ())
    lift = 0.3 * size

    def line(at: Point) -> Point:
        return (at[0], at[1] + lift)

    if before:
        yield Entry(SAMPLE_MM, words.before, lambda at: _before(line(at)))
    yield Entry(SAMPLE_MM, words.after, lambda at: _after(line(at)))
    if schematic:
        yield Entry(0.6 * SAMPLE_MM, words.schematic, lambda at: _schematic(at, size))
    yield Entry(SAMPLE_MM, words.forward, lambda at: _arrow(line(at)))


def _before(at: Point) -> Iterator[Item]:
    yield Line(at, (at[0] + SAMPLE_MM, at[1]), "before")
    yield Marker((at[0] + SAMPLE_MM / 2, at[1]), "diamond", 1.7, "before-mark")


def _after(at: Point) -> Iterator[Item]:
    yield Line(at, (at[0] + SAMPLE_MM, at[1]), "after")
    yield Marker((at[0] + SAMPLE_MM / 2, at[1]), "dot", 1.1, "after")


def _schematic(at: Point, size: float) -> Iterator[Item]:
    (x, y), width, height = at, 0.6 * SAMPLE_MM, 0.7 * size
    box = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    yield Polyline(box, "schematic", closed=True, filled=True)


def _arrow(at: Point) -> Iterator[Item]:
    tip = (at[0] + SAMPLE_MM, at[1])
    yield Line(at, tip, "dimension")
    yield arrow_head(tip, (-1.0, 0.0))


def _scale_bar(origin: Point, scale: int, style: NumberStyle) -> Iterator[Item]:
    """Two lengths of a tape, the first filled, so that a copy that was enlarged still tells its size."""
    x, y = origin
    step = BAR_MM[style.unit] / scale
    for steps, filled in ((1, True), (BAR_STEPS, False)):
        right = x + steps * step
        yield Polyline(((x, y), (right, y), (right, y + 1.0), (x, y + 1.0)), "axis", closed=True, filled=filled)
