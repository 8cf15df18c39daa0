"""The bike's side view at one scale: outlines, then labels and dimension lines around them, then the foot."""

from collections.abc import Iterable, Iterator, Mapping

from sessions.sheets.bike_dimensions import (
    CRANK_LETTER,
    SPECS,
    TILT_LETTER,
    DimensionSpec,
    Lie,
    crank_mm,
    dimension_mm,
    table_key,
    tilt,
    value_text,
)
from sessions.sheets.bike_shapes import datum_items, frame_items, position_items
from sessions.sheets.board import Board
from sessions.sheets.boxes import Box, text_width_mm
from sessions.sheets.numbers import MM_PER_INCH, NumberStyle
from sessions.sheets.scales import scale_text
from sessions.sheets.scene import Item, Line, Point, Polyline, Role, Text
from sessions.sheets.words import DrawingWords

GROUND_TICK_MM = 2.5
SADDLE = ("saddle_tail", "saddle_datum", "saddle_nose")
BAR_MM = {"mm": 100.0, "in": 4 * MM_PER_INCH}
BAR_STEPS = 2
BAR_WORDS = {"mm": "200 mm", "in": "8 in"}

Points = Mapping[str, Point]


class BikeDrawing:
    """One try at the side view, at one scale; `letters` and `notes` tell what was drawn."""

    def __init__(
        self, old: Points, new: Points, scale: int, text_mm: float, style: NumberStyle, words: DrawingWords
    ) -> None:
        """Draw the points before and after [mm] at 1 : scale, with labels of `text_mm`."""
        self.old, self.new, self.scale = old, new, scale
        self.style, self.words = style, words
        self.paper_old, self.paper_new = _on_paper(old, scale), _on_paper(new, scale)
        self.board = Board(text_mm)
        self.letters: dict[str, str] = {}
        self.notes: list[str] = []
        self._outlines()
        self._dimensions()
        self._foot()

    @property
    def bounds(self) -> Box:
        """The box around everything drawn [mm on paper]."""
        return self.board.bounds

    def _outlines(self) -> None:
        frame = {**self.paper_old, **self.paper_new}
        ratio = 1 / self.scale
        self.board.add(frame_items(frame))
        self.board.add(position_items(self.paper_old, "before", ratio))
        self.board.add(position_items(self.paper_new, "after", ratio))
        self.board.add(datum_items(self.paper_new))
        self.board.strokes += [Box(x, y, x, y) for x, y in self.paper_new.values()]

    def _dimensions(self) -> None:
        self.board.reserve(posts=self._feet("across"), rails=self._feet("up"))
        lies: tuple[Lie, ...] = ("on", "up", "across")
        for lie in lies:
            known = [spec for spec in SPECS if spec.lie == lie and dimension_mm(spec, self.new) is not None]
            for spec in sorted(known, key=self._length_on_paper):
                self._dimension(spec)
            if lie == "on":
                self._side_labels()

    def _length_on_paper(self, spec: DimensionSpec) -> float:
        first, second = self.paper_new[spec.first], self.paper_new[spec.second]
        return abs(second[0] - first[0]) if spec.lie == "across" else abs(second[1] - first[1])

    def _dimension(self, spec: DimensionSpec) -> None:
        first, second = self.paper_new[spec.first], self.paper_new[spec.second]
        value = self._value(spec)
        self._note(table_key(spec, self.new), spec.letter, value)
        if spec.lie == "on":
            self.board.dimension_on(first, second, spec.letter, value)
        elif spec.lie == "across":
            self.board.dimension_across(first, second, spec.letter, value)
        else:
            self.board.dimension_up(first, second, spec.letter, value, foot=spec.first == "floor")

    def _feet(self, lie: Lie) -> list[Point]:
        """The points that extension lines of that lie will start from."""
        known = [spec for spec in SPECS if spec.lie == lie and dimension_mm(spec, self.new) is not None]
        names = {name for spec in known for name in (spec.first, spec.second)} - {"floor"}
        return [self.paper_new[name] for name in sorted(names)]

    def _value(self, spec: DimensionSpec) -> str:
        after = dimension_mm(spec, self.new)
        return value_text("mm", dimension_mm(spec, self.old), after or 0.0, self.style)

    def _note(self, key: str, letter: str, value: str) -> None:
        unit = "" if "°" in value else f" {self.style.unit}"
        self.letters[key] = letter
        self.notes.append(f"{letter} {self.words.dimensions.get(key, key)}: {value}{unit}")

    def _side_labels(self) -> None:
        """Figures that need no line: the saddle's tilt beside its tail, the crank's length beside its circle."""
        after, before = tilt(self.new), tilt(self.old)
        if after is not None:
            key, value_deg = after
            value = value_text("deg", before[1] if before and before[0] == key else None, value_deg, self.style)
            saddle = [self.paper_new[name] for name in SADDLE if name in self.paper_new]
            self._label_near(min(saddle), TILT_LETTER, key, value)
        crank = crank_mm(self.new)
        if crank is not None:
            value = value_text("mm", crank_mm(self.old), crank, self.style)
            self._label_near(self.paper_new["pedal_axle"], CRANK_LETTER, "crank_length", value)

    def _label_near(self, point: Point, letter: str, key: str, value: str) -> None:
        self._note(key, letter, value)
        width, height = self.board.label_size(value)
        x, y = point
        corners = [
            (x + side, y + lift)
            for reach in (2.0, 5.0, 9.0)
            for side in (-width - reach, reach)
            for lift in (-height / 2, -height - reach, reach)
        ]
        self.board.place_label(corners, letter, value)

    def _foot(self) -> None:
        """Under the drawing: the ground, the scale with its bar, and how before and after are drawn."""
        board, size = self.board, self.board.text_mm
        floor = {**self.paper_old, **self.paper_new}.get("floor")
        if floor:
            board.add(_ground(board.bounds, floor[1]))
        x, y = board.bounds.left, board.bounds.bottom - 1.9 * size
        board.add(_scale_bar((x, y), self.scale, self.style))
        x += BAR_STEPS * BAR_MM[self.style.unit] / self.scale + 1.5
        for stated in (BAR_WORDS[self.style.unit], f"{self.words.scale} {scale_text(self.scale)}"):
            board.place_text(Text((x, y), stated, size, "note"))
            x += text_width_mm(stated, size) + 4.0
        for role, word in self._legend():
            board.add([Line((x, y + 0.3 * size), (x + 8.0, y + 0.3 * size), role)])
            board.place_text(Text((x + 9.0, y), word, size, "note"))
            x += 9.0 + text_width_mm(word, size) + 4.0

    def _legend(self) -> Iterable[tuple[Role, str]]:
        if self.old:
            yield "before", self.words.before
        yield "after", self.words.after


def _on_paper(points: Points, scale: int) -> dict[str, Point]:
    return {name: (x / scale, y / scale) for name, (x, y) in points.items()}


def _ground(bounds: Box, y: float) -> Iterator[Item]:
    """The ground line with hatch strokes below it, as a section drawing marks earth."""
    left, right = bounds.left, bounds.right + 1.0
    yield Line((left, y), (right, y), "ground")
    count = max(1, min(200, int((right - left) / GROUND_TICK_MM)))
    for step in range(1, count + 1):
        x = left + step * (right - left) / count
        yield Line((x, y), (x - 1.0, y - 1.3), "ground")


def _scale_bar(origin: Point, scale: int, style: NumberStyle) -> Iterator[Item]:
    """Two lengths of a tape, the first filled, so that a copy that was enlarged still tells its size."""
    x, y = origin
    step = BAR_MM[style.unit] / scale
    for steps, filled in ((1, True), (BAR_STEPS, False)):
        right = x + steps * step
        yield Polyline(((x, y), (right, y), (right, y + 1.0), (x, y + 1.0)), "axis", closed=True, filled=filled)
