"""A scene as SVG for the page: classes by role, no styles, no scripts, every text escaped."""

import re
from html import escape

from sessions.sheets.scene import Arc, Circle, Line, Point, Polyline, Scene, Stroke, Text, arc_points

NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
ARC_STEPS = 24


def scene_svg(scene: Scene, *, ident: str = "scene") -> str:
    """Write the scene as one `<svg>` element in millimetre units.

    Parameters
    ----------
    scene
        What to draw.
    ident
        Prefix of the element ids; give each drawing on a page its own.

    Returns
    -------
    str
        Markup that is safe to place in a page: all text is escaped, and there is no style, script or event attribute.
    """
    key = re.sub(r"[^A-Za-z0-9_-]", "-", ident)
    body = "".join(_stroke(stroke, scene.height_mm) for stroke in scene.strokes())
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="scene" role="img" fill="none" stroke="currentColor"'
        f' viewBox="0 0 {_n(scene.width_mm)} {_n(scene.height_mm)}" aria-labelledby="{key}-title {key}-desc">'
        f'<title id="{key}-title">{_text(scene.title)}</title><desc id="{key}-desc">{_text(scene.description)}</desc>'
        f"{body}</svg>"
    )


def _stroke(stroke: Stroke, height: float) -> str:
    match stroke:
        case Line(start, end, role):
            (x1, y1), (x2, y2) = _down(start, height), _down(end, height)
            return f'<line class="scene-{role}" x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>'
        case Circle(centre, radius_mm, role):
            x, y = _down(centre, height)
            return f'<circle class="scene-{role}" cx="{x}" cy="{y}" r="{_n(radius_mm)}"/>'
        case Arc(centre, radius_mm, start_deg, end_deg, role):
            return _path(tuple(arc_points(centre, radius_mm, start_deg, end_deg, ARC_STEPS)), role, height)
        case Polyline(points, role, closed, filled):
            return _path(points, role, height, closed=closed, filled=filled)
        case Text():
            return _written(stroke, height)


def _path(points: tuple[Point, ...], role: str, height: float, *, closed: bool = False, filled: bool = False) -> str:
    pairs = " ".join(",".join(_down(point, height)) for point in points)
    tag = "polygon" if closed else "polyline"
    kind = f"scene-fill scene-{role}" if filled else f"scene-{role}"
    return f'<{tag} class="{kind}" points="{pairs}"/>'


def _written(text: Text, height: float) -> str:
    x, y = _down(text.at, height)
    turn = f' transform="rotate({_n(-text.turn_deg)} {x} {y})"' if text.turn_deg else ""
    return (
        f'<text class="scene-text scene-{text.role}" x="{x}" y="{y}" font-size="{_n(text.size_mm)}"'
        f' text-anchor="{text.anchor}" stroke="none" fill="currentColor"{turn}>{_text(text.text)}</text>'
    )


def _text(value: str) -> str:
    return escape(NOT_XML.sub("", value))


def _down(point: Point, height: float) -> tuple[str, str]:
    """Scene y runs up, SVG y runs down."""
    return _n(point[0]), _n(height - point[1])


def _n(value: float) -> str:
    """A number with at most two decimals.

    >>> _n(1.50), _n(-0.001)
    ('1.5', '0')
    """
    shown = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown
