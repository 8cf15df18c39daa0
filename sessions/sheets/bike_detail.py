"""Details of the side view: the few millimetres that a contact point moved, up to full size, in a circle of their own.

A detail is named by a letter and its own scale, as on any technical drawing (ISO 128-3); its letter stands beside a thin
circle around the same stretch of the main view. It is never larger than full size: beyond that the eye would see no
more than how well a tape can be read.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

from sessions.sheets.bike_shapes import Shape
from sessions.sheets.bike_subject import Subject
from sessions.sheets.board import Board
from sessions.sheets.boxes import Box, first_free, text_width_mm
from sessions.sheets.curves import area_inside, runs_inside, scaled
from sessions.sheets.free_spot import FreeRoom
from sessions.sheets.numbers import MM_PER_INCH, NumberStyle
from sessions.sheets.scales import scale_text
from sessions.sheets.scene import (
    ARROW_LENGTH_MM,
    Circle,
    Item,
    Line,
    Marker,
    Point,
    Polyline,
    Role,
    Text,
    arc_points,
    arrow_head,
    moved,
    unit,
)
from sessions.sheets.words import DrawingWords

Points = Mapping[str, Point]

GRID_MM = {"mm": 5.0, "in": MM_PER_INCH / 4}  # on paper
SQUARES = {"mm": ("5 mm", "10 mm"), "in": ("¼ in", "½ in")}  # on the bike, at each of the scales
SCALES = (1, 2)
LEAST_GAIN = 5  # times larger than the main view
LEAST_MOVE_MM = 0.5
ROOM = 1.2  # of the radius that a movement may take
RADII_MM = (18.0, 15.0, 12.0)
CLEAR_MM, BESIDE_MM = 1.5, 30.0
CAPTION_EM = 3.3
COMPASS = ((-0.7, 0.7), (-0.7, -0.7), (0.7, -0.7), (0.7, 0.7), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0), (0.0, 1.0))
PLACES = (("X", "saddle", ("saddle_datum", "saddle_nose")), ("Y", "hands", ("hood",)), ("Z", "pads", ("pad",)))


@dataclass(frozen=True, slots=True)
class Detail:
    """A stretch of the bike around `centre` [mm of the bike], to be shown at 1 : scale."""

    letter: str
    place: str
    centre: Point
    old: Point
    new: Point
    scale: int


def details(old: Points, new: Points, main_scale: int, radius_mm: float) -> Iterator[Detail]:
    """The contact points that moved too little for the main view and enough to be worth a look.

    >>> [d.scale for d in details({"hood": (430.0, 600.0)}, {"hood": (418.0, 618.0)}, 10, 17.0)]
    [2]
    >>> list(details({"hood": (430.0, 600.0)}, {"hood": (430.0, 600.2)}, 10, 17.0))
    []
    """
    for letter, place, names in PLACES:
        name = next((name for name in names if name in old and name in new), None)
        if name is None:
            continue
        move = math.dist(old[name], new[name])
        scale = next((each for each in SCALES if move / each <= ROOM * radius_mm), None)
        if scale is not None and scale * LEAST_GAIN <= main_scale and move >= LEAST_MOVE_MM:
            centre = ((old[name][0] + new[name][0]) / 2, (old[name][1] + new[name][1]) / 2)
            yield Detail(letter, place, centre, old[name], new[name], scale)


def detail_items(detail: Detail, subject: Subject, at: Point, radius_mm: float, grid_mm: float) -> Iterator[Item]:
    """The detail in a circle around `at` on paper: before dashed, after solid, and the way between the two."""
    before, after = subject.before, subject.after
    ratio = 1 / detail.scale
    origin = (at[0] - detail.centre[0] * ratio, at[1] - detail.centre[1] * ratio)
    yield Polyline(tuple(arc_points(at, radius_mm, 0, 354, 60)), "mask", closed=True, filled=True)
    for shape in after.shapes:
        area = area_inside(scaled(shape, ratio, origin), at, radius_mm)
        if area:
            yield Polyline(area, "schematic", closed=True, filled=True)
    yield from _grid(at, radius_mm, grid_mm)
    lines: tuple[tuple[Role, Sequence[Shape]], ...] = (
        ("before", before.silhouette()),
        ("before", [before.top]),
        ("after", [after.top]),
    )
    for role, runs in lines:
        for run in runs:
            yield from (Polyline(inside, role) for inside in runs_inside(scaled(run, ratio, origin), at, radius_mm))
    yield from _movement(*scaled((detail.old, detail.new), ratio, origin))
    yield Circle(at, radius_mm, "balloon")


def _grid(at: Point, radius_mm: float, grid_mm: float) -> Iterator[Line]:
    """Squares to count the movement by."""
    count = int(radius_mm / grid_mm)
    for number in range(-count, count + 1):
        off = number * grid_mm
        half = math.sqrt(radius_mm * radius_mm - off * off)
        yield Line((at[0] + off, at[1] - half), (at[0] + off, at[1] + half), "grid")
        yield Line((at[0] - half, at[1] + off), (at[0] + half, at[1] + off), "grid")


def _movement(old: Point, new: Point) -> Iterator[Item]:
    """From the diamond before to the dot after, with an arrow where there is room for one."""
    yield Marker(old, "diamond", 2.4, "before-mark")
    yield Marker(new, "dot", 1.6, "after")
    back = unit(new, old)
    tip, end = moved(new, back, 1.1), moved(old, back, -1.3)
    if math.dist(old, new) > ARROW_LENGTH_MM + 2.6:
        yield Line(end, tip, "balloon")
        yield arrow_head(tip, back, "balloon")


class Details:
    """The details that a side view has room for."""

    def __init__(self, subject: Subject, main_scale: int, style: NumberStyle, words: DrawingWords) -> None:
        """Compare the two positions of a subject that is drawn at 1 : main_scale."""
        self.subject, self.main_scale, self.words = subject, main_scale, words
        self.unit = style.unit

    def _wanted(self, radius_mm: float) -> list[Detail]:
        return list(details(self.subject.old, self.subject.new, self.main_scale, radius_mm))

    def lay(self, board: Board, width_mm: float, height_mm: float) -> None:
        """Put as many details on the board as it has room for, in circles of one size, as large as possible."""
        if not self._wanted(RADII_MM[0]):
            return
        room = FreeRoom(board.bounds, width_mm, height_mm, [*board.strokes, *board.labels], board.faint)
        most: list[tuple[Detail, Box]] = []
        for radius in RADII_MM:
            wanted = self._wanted(radius)
            placed = self._placed(wanted, room, radius, board.text_mm)
            if len(placed) > len(most):
                most, used = placed, radius
            if len(most) == len(wanted):
                break
        for detail, box in most:
            self._draw(board, detail, box, used)

    def _placed(
        self, wanted: Sequence[Detail], room: FreeRoom, radius: float, text_mm: float
    ) -> list[tuple[Detail, Box]]:
        """Where the details go; whichever is placed first takes the best spot, so each order is tried."""
        height = 2 * (radius + CLEAR_MM) + CAPTION_EM * text_mm
        best: tuple[int, float, list[tuple[Detail, Box]]] = (0, 0.0, [])
        for order in permutations(wanted):
            left, cost, placed = room, 0.0, []
            for detail in order:
                captions = [text_width_mm(text, text_mm) for text in self._captions(detail)]
                width = 2 * (max(radius, *(each / 2 for each in captions)) + CLEAR_MM)
                found = left.spot(width, height, self._beside(detail))
                if found is not None:
                    cost, left = cost + found[0], left.with_taken(found[1])
                    placed.append((detail, found[1]))
            if (-len(placed), cost) < (best[0], best[1]):
                best = (-len(placed), cost, placed)
        return best[2]

    def _beside(self, detail: Detail) -> Point:
        """Where a detail is best put: out from the bike's middle, so that left stays left."""
        x, y = scaled((detail.centre,), 1 / self.main_scale)[0]
        return (x + math.copysign(BESIDE_MM, x), y)

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
