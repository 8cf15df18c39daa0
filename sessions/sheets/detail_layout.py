"""Where the details of a side view go: beside what they show, on its side of the bike, hiding little of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

from sessions.sheets.bike_detail import GRID_MM, SCALES, SQUARES, Detail, detail_items, details
from sessions.sheets.bike_subject import Subject
from sessions.sheets.board import Board
from sessions.sheets.boxes import Box, first_free, text_width_mm
from sessions.sheets.curves import scaled
from sessions.sheets.free_spot import FreeRoom
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.scales import scale_text
from sessions.sheets.scene import Circle, Point, Text, moved
from sessions.sheets.words import DrawingWords

RADII_MM = (18.0, 15.0, 12.0)
CLEAR_MM, BESIDE_MM = 1.5, 30.0
GOOD_COST, SMALLNESS_WEIGHT = 60.0, 6.0  # [mm]: good enough to look no further; for each millimetre less of radius
CAPTION_EM = 3.3
COMPASS = ((-0.7, 0.7), (-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0), (0.0, 1.0))


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the details of one size go, and what that costs in millimetres further off."""

    radius_mm: float
    cost: float
    placed: tuple[tuple[Detail, Box], ...]


class Details:
    """The details that a side view has room for."""

    def __init__(self, subject: Subject, main_scale: int, style: NumberStyle, words: DrawingWords) -> None:
        """Compare the two positions of a subject that is drawn at 1 : main_scale."""
        self.subject, self.main_scale, self.words = subject, main_scale, words
        self.unit = style.unit

    def _wanted(self, radius_mm: float) -> list[Detail]:
        return list(details(self.subject.old, self.subject.new, self.main_scale, radius_mm))

    def lay(self, board: Board, width_mm: float, height_mm: float) -> list[str]:
        """Put as many details on the board as it has room for, in circles of one size, and return what they show."""
        if not self._wanted(RADII_MM[0]):
            return []
        room = FreeRoom(board.bounds, width_mm, height_mm, [*board.strokes, *board.labels], board.faint)
        layouts: list[Layout] = []
        for radius in RADII_MM:
            wanted = self._wanted(radius)
            layouts.append(self._layout(wanted, room, radius, board.text_mm))
            if len(layouts[-1].placed) == len(wanted) and layouts[-1].cost <= GOOD_COST * len(wanted):
                break
        best = min(layouts, key=lambda layout: (-len(layout.placed), layout.cost))
        for detail, box in best.placed:
            self._draw(board, detail, box, best.radius_mm)
        return [self._captions(detail)[0] for detail, _ in best.placed]

    def _layout(self, wanted: Sequence[Detail], room: FreeRoom, radius: float, text_mm: float) -> Layout:
        """The best places for circles of this size; what is placed first takes the best, so each order is tried."""
        found = [self._one_by_one(order, room, radius, text_mm) for order in permutations(wanted)]
        return min(found, key=lambda layout: (-len(layout.placed), layout.cost))

    def _one_by_one(self, order: Sequence[Detail], room: FreeRoom, radius: float, text_mm: float) -> Layout:
        cost, placed = SMALLNESS_WEIGHT * (RADII_MM[0] - radius), []
        for detail in order:
            captions = [text_width_mm(text, text_mm) for text in self._captions(detail)]
            width = 2 * (max(radius, *(each / 2 for each in captions)) + CLEAR_MM)
            height = 2 * (radius + CLEAR_MM) + CAPTION_EM * text_mm
            found = room.spot(width, height, self._beside(detail), detail.side)
            if found is not None:
                cost, room = cost + found[0], room.with_taken(found[1])
                placed.append((detail, found[1]))
        return Layout(radius, cost, tuple(placed))

    def _beside(self, detail: Detail) -> Point:
        """Where a detail is best put: out from the bike's middle, so that left stays left."""
        x, y = scaled((detail.centre,), 1 / self.main_scale)[0]
        return (x + detail.side * BESIDE_MM, y)

    def _draw(self, board: Board, detail: Detail, box: Box, radius: float) -> None:
        size = board.text_mm
        middle = (box.left + box.right) / 2
        at = (middle, box.top - CLEAR_MM - radius)
        board.items.extend(detail_items(detail, self.subject, at, radius, GRID_MM[self.unit]))
        board.strokes.append(box)
        name, squares = self._captions(detail)
        y = at[1] - radius - 1.3 * size
        board.place_text(Text((middle, y), name, size, "balloon", "middle"))
        board.place_text(Text((middle, y - 1.3 * size), squares, 0.9 * size, "note", "middle"))
        centre = scaled((detail.centre,), 1 / self.main_scale)[0]
        around_mm = radius * detail.scale / self.main_scale
        board.add([Circle(centre, around_mm, "balloon")])
        self._letter(board, detail.letter, centre, around_mm)

    def _captions(self, detail: Detail) -> tuple[str, str]:
        """The detail's letter, what it shows and its scale; and how long its squares are."""
        place = self.words.details.get(detail.place, detail.place)
        length = SQUARES[self.unit][SCALES.index(detail.scale)]
        return f"{detail.letter} {place} {scale_text(detail.scale)}", self.words.squares.format(length=length)

    @staticmethod
    def _letter(board: Board, letter: str, centre: Point, radius: float) -> None:
        """Write the letter beside the circle in the main view, on the side with most room."""
        size = board.text_mm
        width = text_width_mm(letter, size)
        spots = [moved(centre, direction, radius + 0.4 + 0.8 * size) for direction in COMPASS]
        boxes = [Box(x - width / 2, y - size / 2, x + width / 2, y + size / 2) for x, y in spots]
        box = first_free(boxes, board.labels, board.strokes)
        board.items.append(
            Text(((box.left + box.right) / 2, box.bottom + 0.14 * size), letter, size, "balloon", "middle")
        )
        board.labels.append(box)
