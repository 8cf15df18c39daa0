"""The sections of a fit sheet, each as slips of one column's width."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sessions.sheets.content import ComponentChange, FitSheet, PositionRow, SideRow
from sessions.sheets.flow import Slip
from sessions.sheets.fonts import Style
from sessions.sheets.front_view import front_view
from sessions.sheets.numbers import NOTHING
from sessions.sheets.pdf_canvas import draw_scene
from sessions.sheets.pen import Pen
from sessions.sheets.scene import Scene
from sessions.sheets.table import Cell, Setting, head_slip, heading_slip, paragraph_slips, row_slip
from sessions.sheets.words import Words

POSITION_SHARES = (0.045, 0.365, 0.115, 0.115, 0.115, 0.095, 0.15)
SIDE_SHARES = (0.31, 0.125, 0.125, 0.145, 0.115, 0.18)
CHANGE_SHARES = (0.36, 0.64)
DISCOMFORT_SHARES = (0.66, 0.17, 0.17)
FRONT_HEIGHT_MM = 34.0
TICKED, UNTICKED = "☑", "☐"


def shares(parts: Sequence[float], width_mm: float) -> list[float]:
    """Column widths [mm] from shares of the whole."""
    return [part * width_mm for part in parts]


def position_slips(
    rows: Sequence[PositionRow], words: Words, title: str, width_mm: float, setting: Setting
) -> Iterator[Slip]:
    """The position table: two slips for its heading and its head, then one for each row."""
    widths = shares(POSITION_SHARES, width_mm)
    heads = (words.before, words.after, words.change, words.uncertainty, words.verdict)
    cells = [Cell(""), Cell(words.dimension, tone="soft"), *(Cell(head, tone="soft", anchor="end") for head in heads)]
    yield heading_slip(title, width_mm, setting)
    yield head_slip(cells, widths, setting)
    for row in rows or [PositionRow("", "", "", "", "")]:
        yield row_slip(_position_cells(row, words), widths, setting)


def _position_cells(row: PositionRow, words: Words) -> list[Cell]:
    strong: Style = "bold" if row.real else "regular"
    return [
        Cell(row.letter, "bold", "accent"),
        Cell(row.label or NOTHING, lines=2),
        Cell(row.before or NOTHING, anchor="end"),
        Cell(row.after or NOTHING, "bold", anchor="end"),
        Cell(row.change or NOTHING, strong, anchor="end"),
        Cell(row.uncertainty or NOTHING, tone="soft", anchor="end"),
        verdict_cell(row.real, words),
    ]


def verdict_cell(real: bool | None, words: Words) -> Cell:
    """Whether a difference is real, told by word and by weight of type."""
    if real is None:
        return Cell(NOTHING, tone="soft", anchor="end")
    if real:
        return Cell(words.real, "bold", anchor="end")
    return Cell(words.within_error, "italic", "soft", anchor="end")


@dataclass(frozen=True, slots=True)
class Sections:
    """The sections below the position table, set for one column's width."""

    sheet: FitSheet
    width_mm: float
    setting: Setting

    def slips(self) -> Iterator[Slip]:
        """All sections in the order in which they are read."""
        sheet, words = self.sheet, self.sheet.words
        yield from self._changes()
        yield from self._texts(words.parts, sheet.parts, mark="•")
        yield from self._sides()
        yield from self._discomfort()
        yield from self._texts(words.notes, [sheet.notes])
        yield from self._texts(words.next_visit, [sheet.next_visit])
        yield from self._safety()
        yield from self._cautions()

    def _heading(self, title: str) -> Slip:
        return heading_slip(title, self.width_mm, self.setting)

    def _texts(self, title: str, texts: Sequence[str], *, mark: str = "") -> Iterator[Slip]:
        yield self._heading(title)
        known = [text for text in texts if text.strip()]
        for text in known or [NOTHING]:
            yield from paragraph_slips(text, self.width_mm, self.setting.body, mark=mark if known else "")

    def _changes(self) -> Iterator[Slip]:
        yield self._heading(self.sheet.words.component_changes)
        widths = shares(CHANGE_SHARES, self.width_mm)
        for change in self.sheet.changes or [ComponentChange(NOTHING)]:
            moved = f"{change.before or NOTHING} → {change.after or NOTHING}" if change.before or change.after else ""
            yield row_slip([Cell(change.what or NOTHING, lines=2), Cell(moved, lines=3)], widths, self.setting)

    def _sides(self) -> Iterator[Slip]:
        yield self._heading(self.sheet.words.left_and_right)
        view = front_view(
            self.sheet.points_before,
            self.sheet.points_after,
            width_mm=self.width_mm,
            height_mm=FRONT_HEIGHT_MM,
            style=self.sheet.style,
            words=self.sheet.words.drawing,
        )
        if view:
            yield _scene_slip(view.scene)
        yield from self._side_table()

    def _side_table(self) -> Iterator[Slip]:
        words, widths = self.sheet.words, shares(SIDE_SHARES, self.width_mm)
        heads = (words.left, words.right, words.difference, words.uncertainty, "")
        cells = [Cell(words.dimension, tone="soft"), *(Cell(head, tone="soft", anchor="end") for head in heads)]
        yield head_slip(cells, widths, self.setting)
        for row in self.sheet.side_rows or [SideRow("", "", "", "", "")]:
            yield row_slip(_side_cells(row, words), widths, self.setting)

    def _discomfort(self) -> Iterator[Slip]:
        if not self.sheet.discomfort:
            return
        words, widths = self.sheet.words, shares(DISCOMFORT_SHARES, self.width_mm)
        yield self._heading(words.discomfort)
        heads = (Cell(head, tone="soft", anchor="end") for head in (words.before, words.after))
        yield head_slip([Cell(""), *heads], widths, self.setting)
        for row in self.sheet.discomfort:
            scores = (Cell(score or NOTHING, anchor="end") for score in (row.before, row.after))
            yield row_slip([Cell(row.area, lines=2), *scores], widths, self.setting)

    def _safety(self) -> Iterator[Slip]:
        if not self.sheet.safety:
            return
        yield self._heading(self.sheet.words.safety)
        for item in self.sheet.safety:
            text = f"{item.label}: {item.value}" if item.value else item.label
            mark = TICKED if item.done else UNTICKED
            yield from paragraph_slips(text, self.width_mm, self.setting.body, mark=mark)

    def _cautions(self) -> Iterator[Slip]:
        if not self.sheet.cautions:
            return
        yield self._heading(self.sheet.words.cautions)
        for caution in self.sheet.cautions:
            yield from paragraph_slips(caution, self.width_mm, self.setting.small, mark="!")


def _side_cells(row: SideRow, words: Words) -> list[Cell]:
    texts = (row.left, row.right, row.difference, row.uncertainty)
    return [
        Cell(row.label or NOTHING, lines=2),
        *(Cell(text or NOTHING, anchor="end") for text in texts),
        verdict_cell(row.real, words),
    ]


def _scene_slip(scene: Scene) -> Slip:
    def draw(pen: Pen, left: float, top: float) -> None:
        draw_scene(pen, scene, left, top - scene.height_mm)

    return Slip(scene.height_mm + 1.0, draw, glued=True)
