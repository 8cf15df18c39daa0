"""Details of the side view: the few millimetres that a contact point moved, up to full size, in a circle of their own.

A detail is named by a letter and its own scale, as on any technical drawing (ISO 128-3); its letter stands beside a thin
circle around the same stretch of the main view. It is never larger than full size: beyond that the eye would see no
more than how well a tape can be read.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sessions.sheets.bike_shapes import Shape
from sessions.sheets.bike_subject import Subject
from sessions.sheets.curves import area_inside, runs_inside, scaled
from sessions.sheets.numbers import MM_PER_INCH
from sessions.sheets.scene import (
    ARROW_LENGTH_MM,
    Circle,
    Item,
    Line,
    Marker,
    Point,
    Polyline,
    Role,
    arc_points,
    arrow_head,
    moved,
    unit,
)

Points = Mapping[str, Point]

GRID_MM = {"mm": 5.0, "in": MM_PER_INCH / 4}  # on paper
SQUARES = {"mm": ("5 mm", "10 mm"), "in": ("¼ in", "½ in")}  # on the bike, at each of the scales
SCALES = (1, 2)
LEAST_GAIN = 5  # times larger than the main view
LEAST_MOVE_MM = 0.5
ROOM = 1.2  # of the radius that a movement may take
SADDLE, FRONT = -1, 1
# Letter, side of the drawing, and the points to look at with the word for each, the first that moved: the nose
# before the datum, since its setback is taken straight with a plumb line.
PLACES = (
    ("X", SADDLE, (("saddle_nose", "nose"), ("saddle_datum", "saddle"))),
    ("Y", FRONT, (("hood", "hands"),)),
    ("Z", FRONT, (("pad", "pads"),)),
)


@dataclass(frozen=True, slots=True)
class Detail:
    """A stretch of the bike around `centre` [mm of the bike], to be shown at 1 : scale."""

    letter: str
    side: int
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
    for letter, side, points in PLACES:
        known = [(old[name], new[name], place) for name, place in points if name in old and name in new]
        moved_ones = [each for each in known if math.dist(each[0], each[1]) >= LEAST_MOVE_MM]
        for was, now, place in moved_ones[:1]:
            scale = next((each for each in SCALES if math.dist(was, now) / each <= ROOM * radius_mm), None)
            if scale is not None and scale * LEAST_GAIN <= main_scale:
                centre = ((was[0] + now[0]) / 2, (was[1] + now[1]) / 2)
                yield Detail(letter, side, place, centre, was, now, scale)


def detail_items(detail: Detail, subject: Subject, at: Point, radius_mm: float, grid_mm: float) -> Iterator[Item]:
    """The detail in a circle around `at` on paper: before dashed, after solid, and the way between the two."""
    before, after = subject.before, subject.after
    ratio = 1 / detail.scale
    origin = (at[0] - detail.centre[0] * ratio, at[1] - detail.centre[1] * ratio)
    yield Polyline(tuple(arc_points(at, radius_mm, 0, 350, 36)), "mask", closed=True, filled=True)
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
