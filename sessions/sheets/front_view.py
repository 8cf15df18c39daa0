"""The handlebar from behind, so that left is left: whether the two hoods stand level."""

from collections.abc import Iterator, Mapping

from sessions.sheets.bike_dimensions import value_text
from sessions.sheets.bike_points import FarPoint, finite_points
from sessions.sheets.bike_view import EDGE_MM, BikeView, framed
from sessions.sheets.board import Board
from sessions.sheets.boxes import Box, around
from sessions.sheets.numbers import METRIC, NumberStyle
from sessions.sheets.scales import largest_that_fits, scale_text
from sessions.sheets.scene import Item, Line, Marker, Point, Polyline, Role, Text
from sessions.sheets.words import ENGLISH_DRAWING, DrawingWords

HOODS = ("hood_left", "hood_right")
LEVEL_OVERHANG_MM = 4.0
LEAST_WIDTH_MM = 100.0


def front_view(
    before: Mapping[str, FarPoint],
    after: Mapping[str, FarPoint],
    *,
    width_mm: float = 88.0,
    height_mm: float = 40.0,
    text_mm: float = 2.4,
    style: NumberStyle = METRIC,
    words: DrawingWords = ENGLISH_DRAWING,
) -> BikeView | None:
    """Draw the hoods, levers and drops from behind at the largest standard scale that fits.

    Parameters are those of `bike_view`. Returns None unless both hoods are known, and how far they stand apart.

    Examples
    --------
    >>> hoods = {"hood_left": (498, 676, -212), "hood_right": (500, 672, 212)}
    >>> front_view({}, hoods).scene.description
    'Left hood higher by 4.0 mm'
    >>> front_view({}, {"hood_left": (498, 676, -212)}) is None
    True
    """
    new, old = finite_points(after), finite_points(before)
    if not _apart(new):
        return None
    drawing = largest_that_fits(
        lambda scale: _Drawing(old, new, scale, text_mm, style, words),
        around(Box(new[hood][2], new[hood][1], new[hood][2], new[hood][1]) for hood in HOODS),
        width_mm - 2 * EDGE_MM,
        height_mm - 2 * EDGE_MM,
    )
    if drawing is None:
        return None
    title = f"{words.front_title}, {scale_text(drawing.scale)}"
    return BikeView(framed(drawing.board, width_mm, title, drawing.verdict), drawing.scale, {})


def _apart(points: Mapping[str, FarPoint]) -> bool:
    """Whether both hoods are known with their sides: without a measured z both lie in the plane of the bike."""
    return all(hood in points for hood in HOODS) and points["hood_right"][2] - points["hood_left"][2] > LEAST_WIDTH_MM


class _Drawing:
    """One try at one scale."""

    def __init__(
        self,
        old: Mapping[str, FarPoint],
        new: Mapping[str, FarPoint],
        scale: int,
        text_mm: float,
        style: NumberStyle,
        words: DrawingWords,
    ) -> None:
        self.old, self.new, self.scale, self.style, self.words = old, new, scale, style, words
        self.board = Board(text_mm)
        self.verdict = _verdict(new, style, words)
        if _apart(old):
            self.board.add(_outline(_from_behind(old, scale), "before"))
        self.paper = _from_behind(new, scale)
        self.board.add(_outline(self.paper, "after"))
        self.board.add(_level(self.paper))
        self._labels()

    @property
    def bounds(self) -> Box:
        return self.board.bounds

    def _labels(self) -> None:
        board = self.board
        for name, letter in zip(HOODS, (self.words.left_letter, self.words.right_letter), strict=True):
            value = value_text("mm", self._height(self.old, name), self._height(self.new, name) or 0.0, self.style)
            width, height = board.label_size(value)
            x, y = self.paper[name]
            board.place_label([(x - width / 2, y + 1.5 + step * height) for step in range(4)], letter, value)
        bounds = board.bounds
        middle = (bounds.left + bounds.right) / 2
        text = f"{self.verdict} · {scale_text(self.scale)}"
        board.place_text(Text((middle, bounds.bottom - 1.4 * board.text_mm), text, board.text_mm, "note", "middle"))

    @staticmethod
    def _height(points: Mapping[str, FarPoint], name: str) -> float | None:
        """Height over the floor where the floor is known, over the bottom bracket otherwise [mm]."""
        if name not in points:
            return None
        return points[name][1] - (points["floor"][1] if "floor" in points else 0.0)


def _from_behind(points: Mapping[str, FarPoint], scale: int) -> dict[str, Point]:
    return {name: (z / scale, y / scale) for name, (_, y, z) in points.items()}


def _verdict(points: Mapping[str, FarPoint], style: NumberStyle, words: DrawingWords) -> str:
    gap = points["hood_left"][1] - points["hood_right"][1]
    length = style.length(abs(gap))
    if length == style.length(0.0):
        return words.level
    return words.higher.format(side=words.left if gap > 0 else words.right, length=length, unit=style.unit)


def _outline(points: Mapping[str, Point], role: Role) -> Iterator[Item]:
    middle = [points["bar_clamp"]] if "bar_clamp" in points else []
    yield Polyline((points["hood_left"], *middle, points["hood_right"]), role)
    for side in ("left", "right"):
        hood = points[f"hood_{side}"]
        for part in ("lever_tip", "drop"):
            if f"{part}_{side}" in points:
                yield Line(hood, points[f"{part}_{side}"], role)
        if role == "after":
            yield Marker(hood, "dot", 1.1, role)


def _level(points: Mapping[str, Point]) -> Iterator[Item]:
    """A level line through the higher hood."""
    height = max(points[hood][1] for hood in HOODS)
    left, right = sorted(points[hood][0] for hood in HOODS)
    yield Line((left - LEVEL_OVERHANG_MM, height), (right + LEVEL_OVERHANG_MM, height), "extension")
