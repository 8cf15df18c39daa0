"""The bike's side view at one scale: outlines, then labels and dimension lines around them, then the foot."""

from collections.abc import Iterable, Mapping

from sessions.sheets.bike_detail import Details
from sessions.sheets.bike_dimensions import (
    CRANK_LETTER,
    SPECS,
    TILT_LETTER,
    DimensionSpec,
    Lie,
    dimension_mm,
    table_key,
    tilt,
    value_text,
)
from sessions.sheets.bike_foot import GROUND_OVERHANG_MM, Entry, foot_entries, foot_height_mm, ground, lay_foot
from sessions.sheets.bike_ghost import ghost_shapes
from sessions.sheets.bike_shapes import (
    Shape,
    after_items,
    before_items,
    crank_items,
    crank_shapes,
    frame_items,
    marks,
    top_items,
)
from sessions.sheets.bike_subject import Paper, Subject
from sessions.sheets.board import Board
from sessions.sheets.boxes import PEN_MM, Box
from sessions.sheets.curves import scaled
from sessions.sheets.saddle_shapes import saddle_line
from sessions.sheets.scene import Point, Polyline

SADDLE = ("saddle_tail", "saddle_datum", "saddle_nose")

Points = Mapping[str, Point]


class BikeDrawing:
    """One try at the side view, at one scale; `letters` and `notes` tell what was drawn."""

    def __init__(self, subject: Subject, scale: int, paper: Paper, *, whole: bool, detailed: bool) -> None:
        """Draw at 1 : scale; `whole` adds the pale bike around what was measured, `detailed` what moved little."""
        self.subject, self.scale = subject, scale
        self.old, self.new = subject.old, subject.new
        self.paper, self.style, self.words = paper, paper.style, paper.words
        self.paper_old, self.paper_new = _on_paper(self.old, scale), _on_paper(self.new, scale)
        self.board = Board(paper.text_mm)
        self.letters: dict[str, str] = {}
        self.notes: list[str] = []
        self._outlines(whole)
        self._dimensions()
        entries = self._legend()
        if detailed:
            self._details(paper.height_mm - foot_height_mm(entries, paper.text_mm, paper.width_mm))
        self._ground()
        lay_foot(self.board, entries, paper.width_mm)

    @property
    def bounds(self) -> Box:
        """The box around everything drawn [mm on paper]."""
        return self.board.bounds

    def _outlines(self, whole: bool) -> None:
        subject, ratio = self.subject, 1 / self.scale
        fixed = {**self.old, **self.new}
        ghost = list(ghost_shapes(fixed, saddle_line(self.new), subject.facts)) if whole else []
        self.is_schematic = bool(ghost or subject.after.shapes or subject.before.shapes)
        self._pale([*ghost, *((shape, 1.0) for shape in crank_shapes(self.new, subject.crank_mm))])
        self.board.add(frame_items({**self.paper_old, **self.paper_new}))
        self.board.add(crank_items(self.new, subject.crank_mm, subject.crank_was_mm, ratio))
        for items in (
            after_items(subject.after, ratio),
            before_items(subject.before, ratio),
            top_items(subject.after, ratio),
            marks(self.paper_old, after=False),
            marks(self.paper_new, after=True),
        ):
            self.board.add(items)
        self.board.strokes += [Box(x, y, x, y) for x, y in self.paper_new.values()]

    def _pale(self, weighed: Iterable[tuple[Shape, float]]) -> None:
        for shape, weight in weighed:
            area = Polyline(scaled(shape, 1 / self.scale), "ghost", closed=True, filled=True)
            self.board.add_faint(area, weight)

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
        value = self._noted(table_key(spec, self.new), spec.letter, value)
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

    def _noted(self, key: str, letter: str, value: str) -> str:
        """Keep a figure for the description and return as much of it as is shown."""
        unit = "" if "°" in value else f" {self.style.unit}"
        self.letters[key] = letter
        self.notes.append(f"{letter} {self.words.dimensions.get(key, key)}: {value}{unit}")
        return value if self.paper.changes else value.split(" (", maxsplit=1)[0]

    def _side_labels(self) -> None:
        """Figures that need no line: the saddle's tilt beside its tail, the crank's length beside its circle."""
        after, before = tilt(self.new), tilt(self.old)
        if after is not None:
            key, value_deg = after
            value = value_text("deg", before[1] if before and before[0] == key else None, value_deg, self.style)
            saddle = [self.paper_new[name] for name in SADDLE if name in self.paper_new]
            self._label_near(min(saddle), TILT_LETTER, key, value)
        crank = self.subject.crank_mm
        if crank is not None:
            value = value_text("mm", self.subject.crank_was_mm, crank, self.style)
            axle = self.paper_new.get("pedal_axle", (crank / self.scale, 0.0))
            self._label_near(axle, CRANK_LETTER, "crank_length", value)

    def _label_near(self, point: Point, letter: str, key: str, value: str) -> None:
        value = self._noted(key, letter, value)
        width, height = self.board.label_size(value)
        x, y = point
        corners = [
            (x + side, y + lift)
            for reach in (2.0, 5.0, 9.0)
            for side in (-width - reach, reach)
            for lift in (-height / 2, -height - reach, reach)
        ]
        self.board.place_label(corners, letter, value)

    def _legend(self) -> list[Entry]:
        paper = self.paper
        shown = {"before": bool(self.old), "schematic": self.is_schematic}
        return list(foot_entries(self.scale, paper.style, paper.words, paper.text_mm, **shown))

    def _details(self, height_mm: float) -> None:
        width = self.paper.width_mm - GROUND_OVERHANG_MM - PEN_MM
        Details(self.subject, self.scale, self.style, self.words).lay(self.board, width, height_mm)

    def _ground(self) -> None:
        floor = {**self.paper_old, **self.paper_new}.get("floor")
        if floor:
            self.board.add(ground(self.board.bounds, floor[1]))


def _on_paper(points: Points, scale: int) -> dict[str, Point]:
    return {name: (x / scale, y / scale) for name, (x, y) in points.items()}
