"""A scene on a PDF page, at its true size."""

from collections.abc import Mapping
from itertools import groupby

from sessions.sheets.pen import Nib, Pen, Tone
from sessions.sheets.scene import Arc, Circle, Line, Move, Point, Polyline, Role, Scene, Stroke, Text, arc_points
from sessions.sheets.typeset import PT_MM, Face

NIBS: Mapping[Role, Nib] = {
    "after": Nib(0.38, "ink"),
    "before": Nib(0.18, "accent", (1.2, 0.6)),
    "before-mark": Nib(0.18, "accent"),
    "frame": Nib(0.12, "soft"),
    "schematic": Nib(0.1, "soft", inside="pale"),
    "ghost": Nib(0.1, "pale"),
    "grid": Nib(0.06, "rule"),
    "mask": Nib(0.1, "paper"),
    "datum": Nib(0.16, "ink"),
    "ground": Nib(0.13, "soft"),
    "dimension": Nib(0.12, "ink"),
    "extension": Nib(0.08, "soft"),
    "label": Nib(0.12, "ink"),
    "note": Nib(0.12, "soft"),
    "balloon": Nib(0.14, "accent"),
    "bar": Nib(0.13, "soft"),
    "over": Nib(0.18, "accent"),
    "hatch": Nib(0.14, "accent"),
    "slack": Nib(0.4, "accent"),
    "axis": Nib(0.13, "ink"),
}
BOLD_ROLES: frozenset[Role] = frozenset({"balloon", "slack"})
ARC_STEPS = 24


def draw_scene(pen: Pen, scene: Scene, left_mm: float, bottom_mm: float) -> None:
    """Draw the scene with its lower left corner at the given place on the page, one millimetre to one millimetre."""

    def go(point: Point) -> Point:
        return (point[0] + left_mm, point[1] + bottom_mm)

    for (kind, role), group in groupby(scene.strokes(), key=lambda stroke: (type(stroke), stroke.role)):
        if kind is Line:
            pen.lines([(go(each.start), go(each.end)) for each in group if isinstance(each, Line)], NIBS[role])
        else:
            for stroke in group:
                _draw(pen, stroke, go)


def _draw(pen: Pen, stroke: Stroke, go: Move) -> None:
    nib = NIBS[stroke.role]
    match stroke:
        case Polyline(points, _, closed, filled):
            pen.polyline([go(point) for point in points], nib, closed=closed, filled=filled)
        case Circle(centre, radius_mm):
            pen.circle(go(centre), radius_mm, nib)
        case Arc(centre, radius_mm, start_deg, end_deg):
            pen.polyline(list(arc_points(go(centre), radius_mm, start_deg, end_deg, ARC_STEPS)), nib)
        case Text():
            _write(pen, stroke, go, nib.tone)
        case Line(start, end):
            pen.lines([(go(start), go(end))], nib)


def _write(pen: Pen, text: Text, go: Move, tone: Tone) -> None:
    face = Face(text.size_mm / PT_MM, "bold" if text.role in BOLD_ROLES else "regular")
    if text.turn_deg:
        pen.turned_text(go(text.at), text.text, face, text.turn_deg, tone, text.anchor)
    else:
        pen.text(go(text.at), text.text, face, tone=tone, anchor=text.anchor)
