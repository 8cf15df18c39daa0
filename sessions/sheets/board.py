"""A drawing board: items so far, and how dimension lines and labels find room beside them.

Lines and labels that are placed become obstacles for the next, so nothing placed here ever covers a label.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from sessions.sheets.boxes import Box, around, first_free, outline_boxes, segment_box, text_box, text_width_mm
from sessions.sheets.scene import (
    ARROW_LENGTH_MM,
    EXTENSION_OVERSHOOT_MM,
    Circle,
    Dimension,
    Item,
    Line,
    Point,
    Text,
    moved,
    unit,
)

LANE_GAP_MM = 2.0
CLEAR_MM = 0.6
LABEL_GAP_MM = 0.7
OUTSIDE_MM = 2.2 * ARROW_LENGTH_MM + 0.8


class Board:
    """Collects items; `labels` are boxes that nothing may cover, `strokes` are lines better left clear."""

    def __init__(self, text_mm: float) -> None:
        """Start empty, with labels set at `text_mm`."""
        self.text_mm = text_mm
        self.items: list[Item] = []
        self.labels: list[Box] = []
        self.strokes: list[Box] = []
        self.faint: list[tuple[Box, float]] = []
        self.faint_extents: list[Box] = []
        self._bounds: tuple[Box, ...] = ()
        self._seen = (0, 0, 0)
        self.posts: list[Box] = []
        self.rails: list[Box] = []

    def add(self, items: Iterable[Item]) -> None:
        """Put outlines on the board."""
        for item in items:
            self.items.append(item)
            self.strokes.extend(outline_boxes(item))

    def add_faint(self, item: Item, weight: float) -> None:
        """Put a pale area on the board: lines and labels may lie on it; `weight` is how much it would be missed."""
        boxes = outline_boxes(item)
        self.items.append(item)
        self.faint += [(box, weight) for box in boxes]
        self.faint_extents.append(around(boxes))

    @property
    def bounds(self) -> Box:
        """The box around everything."""
        new = [
            *self.strokes[self._seen[0] :],
            *self.labels[self._seen[1] :],
            *self.faint_extents[self._seen[2] :],
        ]
        self._seen = (len(self.strokes), len(self.labels), len(self.faint_extents))
        if new:
            self._bounds = (around([*self._bounds, *new]),)
        return around(self._bounds)

    # Labels: a letter in a circle and its value.

    def label_size(self, value: str) -> tuple[float, float]:
        """Width and height [mm] of a lettered label."""
        return (self._balloon_mm * 2 + LABEL_GAP_MM + text_width_mm(value, self.text_mm), self._balloon_mm * 2)

    @property
    def _balloon_mm(self) -> float:
        return 0.68 * self.text_mm

    def put_label(self, box: Box, letter: str, value: str, *, turned: bool = False) -> None:
        """Write a lettered label into `box`; turned labels read upwards."""
        radius, size = self._balloon_mm, self.text_mm
        turn = 90.0 if turned else 0.0
        along: Point = (0.0, 1.0) if turned else (1.0, 0.0)
        centre = (
            ((box.left + box.right) / 2, box.bottom + radius)
            if turned
            else (
                box.left + radius,
                (box.bottom + box.top) / 2,
            )
        )
        drop: Point = (1.0, 0.0) if turned else (0.0, -1.0)
        foot = moved(centre, drop, 0.33 * size)
        self.items += [
            Circle(centre, radius, "balloon"),
            Text(moved(centre, drop, 0.28 * size), letter, 0.82 * size, "balloon", "middle", turn),
            Text(moved(foot, along, radius + LABEL_GAP_MM), value, size, "label", "start", turn),
        ]
        self.labels.append(box)

    def place_label(self, corners: Sequence[Point], letter: str, value: str) -> None:
        """Write a label with its lower left corner at the first of `corners` that is free."""
        width, height = self.label_size(value)
        candidates = [Box(x, y, x + width, y + height) for x, y in corners]
        self.put_label(first_free(candidates, self.labels, [*self.strokes, *self.posts, *self.rails]), letter, value)

    def place_text(self, text: Text) -> None:
        """Write plain text where it is told to, moved down where that is taken."""
        wanted = text_box(text).grown(CLEAR_MM)
        box = first_free([wanted], self.labels, [])
        dy = box.bottom - wanted.bottom
        self.items.append(Text(moved(text.at, (0.0, 1.0), dy), text.text, text.size_mm, text.role, text.anchor))
        self.labels.append(box)

    # Dimension lines, each beyond all that is drawn beside its span.

    def dimension_on(self, first: Point, second: Point, letter: str, value: str) -> None:
        """A dimension line straight between the two points, its label beside it where there is room."""
        self._keep(Dimension(first, second, (first, second)))
        self.place_label(list(self._beside(first, second, *self.label_size(value))), letter, value)

    @staticmethod
    def _beside(first: Point, second: Point, width: float, height: float) -> Iterator[Point]:
        """Lower left corners of a label of this size on either side of a slanting line, the middle of the line first."""
        run, rise = second[0] - first[0], second[1] - first[1]
        steep = abs(rise) > abs(run)
        slant = 0.0 if steep else abs(rise / run) * width / 2 if run else 0.0
        for share in (0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2):
            x, y = first[0] + run * share, first[1] + rise * share
            if steep:
                clear = 1.2 + abs(run / rise) * height / 2
                yield (x - width - clear, y - height / 2)
                yield (x + clear, y - height / 2)
            else:
                yield (x - width / 2, y + slant + LABEL_GAP_MM)
                yield (x - width / 2, y - slant - LABEL_GAP_MM - height)

    def reserve(self, posts: Iterable[Point], rails: Iterable[Point]) -> None:
        """Say from which points extension lines will rise (posts) and run right (rails), so that labels keep aside."""
        right, top = self.bounds.right, self.bounds.top
        self.posts += [segment_box((x, y), (x, max(y, top))) for x, y in posts]
        self.rails += [segment_box((x, y), (max(x, right), y)) for x, y in rails]

    def dimension_across(self, first: Point, second: Point, letter: str, value: str) -> None:
        """A horizontal dimension above all that lies between its ends; a label outside its line avoids the posts."""
        width, height = self.label_size(value)
        low, high = sorted((first[0], second[0]))
        starts, outward = _label_starts(low, high, width)
        begin = self._beside_posts(starts, width) if outward else starts[0]
        y = self._top_over(min(low, begin), max(high, begin + width)) + LANE_GAP_MM
        label_y = y - height / 2 if outward else y + LABEL_GAP_MM
        self._keep(Dimension((first[0], y), (second[0], y), (first, second), outward))
        if outward:
            self._lead(low, high, begin, begin + width, y)
        self.put_label(Box(begin, label_y, begin + width, label_y + height), letter, value)

    def _beside_posts(self, starts: Sequence[float], width: float) -> float:
        """Where a label begins, left or right of a short line, moved outwards past every post that it would lie on."""
        left, right = starts
        pushed_left, pushed_right = left, right
        for post in sorted(self.posts, key=lambda box: -box.left):
            if pushed_left - CLEAR_MM < post.right and post.left < pushed_left + width + CLEAR_MM:
                pushed_left = post.left - CLEAR_MM - width
        pushed_right = self._past_posts(right, width)
        return pushed_left if left - pushed_left < pushed_right - right else pushed_right

    def _lead(self, low: float, high: float, label_left: float, label_right: float, y: float) -> None:
        """Draw the dimension line on to a label that had to move away from it."""
        start, end = (high, label_left - LABEL_GAP_MM) if label_left > high else (low, label_right + LABEL_GAP_MM)
        self.add([Line((start, y), (end, y), "dimension")])

    def dimension_up(self, first: Point, second: Point, letter: str, value: str, *, foot: bool = False) -> None:
        """A vertical dimension right of all that lies between its ends, its label reading upwards.

        With `foot` the first end stands on the ground line and needs no extension line.
        """
        width, height = self.label_size(value)
        low, high = sorted((first[1], second[1]))
        starts, outward = _label_starts(low, high, width)
        edges = {begin: self._right_over(min(low, begin), max(high, begin + width)) for begin in starts}
        begin = min(starts, key=lambda start: (self._rails_under(start, width), edges[start] + (start > low) * width))
        label_x = self._past_posts(edges[begin] + LANE_GAP_MM, height)
        x = label_x + height / 2 if outward else label_x + height + LABEL_GAP_MM
        measured = ((x, first[1]) if foot else first, second)
        self._keep(Dimension((x, first[1]), (x, second[1]), measured, outward))
        self.put_label(Box(label_x, begin, label_x + height, begin + width), letter, value, turned=True)

    def _rails_under(self, bottom: float, height: float) -> int:
        return sum(bottom < rail.top and rail.bottom < bottom + height for rail in self.rails)

    def _past_posts(self, x: float, thickness: float) -> float:
        """`x`, or further right where a strip of that thickness would lie on an extension line."""
        for post in sorted(self.posts, key=lambda box: box.left):
            if x - CLEAR_MM < post.right and post.left < x + thickness + CLEAR_MM:
                x = post.right + CLEAR_MM
        return x

    def _keep(self, dimension: Dimension) -> None:
        self.items.append(dimension)
        self.strokes += outline_boxes(Line(dimension.start, dimension.end, "dimension"))
        for measured, foot in zip(dimension.measured, (dimension.start, dimension.end), strict=True):
            self.strokes.append(segment_box(measured, moved(foot, unit(measured, foot), EXTENSION_OVERSHOOT_MM)))
        if dimension.outward:
            along = unit(dimension.start, dimension.end)
            ends = (moved(dimension.start, along, -OUTSIDE_MM), moved(dimension.end, along, OUTSIDE_MM))
            self.strokes.append(segment_box(*ends))

    def _top_over(self, left: float, right: float) -> float:
        boxes = chain(self.strokes, self.labels)
        tops = (box.top for box in boxes if box.left < right + CLEAR_MM and left - CLEAR_MM < box.right)
        return max(tops, default=self.bounds.top)

    def _right_over(self, bottom: float, top: float) -> float:
        boxes = chain(self.strokes, self.labels)
        rights = (box.right for box in boxes if box.bottom < top + CLEAR_MM and bottom - CLEAR_MM < box.top)
        return max(rights, default=self.bounds.right)


def _label_starts(low: float, high: float, width: float) -> tuple[tuple[float, ...], bool]:
    """Where a label may begin along a dimension from `low` to `high`, and whether its arrow heads go outside."""
    if high - low >= width + 2 * ARROW_LENGTH_MM + CLEAR_MM:
        return ((low + high - width) / 2,), False
    return (low - OUTSIDE_MM - width, high + OUTSIDE_MM), True
