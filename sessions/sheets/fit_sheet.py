"""The fit sheet: the drawing, the tables and the notes that let anyone rebuild the position."""

from collections.abc import Sequence
from dataclasses import dataclass

from sessions.sheets.bike_view import BikeView, bike_view
from sessions.sheets.boxes import Box
from sessions.sheets.content import FitSheet
from sessions.sheets.flow import Placed, Slip, filled, paged, used_mm
from sessions.sheets.fonts import has_gaps
from sessions.sheets.paper import draw_frame, frame_box, printed, rule
from sessions.sheets.pdf_canvas import draw_scene
from sessions.sheets.pen import THIN, Pen
from sessions.sheets.sections import Sections, position_slips
from sessions.sheets.table import CLOSE, ROOMY, TIGHT, Setting, paragraph_slips
from sessions.sheets.title_block import WIDTH_MM, Field, Rows, block_height_mm, draw_block

PAD_MM = 3.0
GUTTER_MM = 6.0
COLUMNS = 2
NO_SHORTFALL = (0, False)
LEAST_RUN_MM = 30.0  # a shorter remainder of the first page is left blank
WANTED_PAGES = 2
# Tried in turn until the content fits: the setting of the type, and the drawing's largest share of the frame's height.
LAYOUTS = ((ROOMY, 0.53), (CLOSE, 0.53), (CLOSE, 0.4), (TIGHT, 0.4))


@dataclass(frozen=True, slots=True)
class Region:
    """Slips placed on a page: the page's number from 0, the top of the region, its columns' left edges."""

    page: int
    top_mm: float
    lefts_mm: tuple[float, ...]
    placed: list[Placed]


def fit_sheet_pdf(sheet: FitSheet) -> bytes:
    """Print a fit sheet.

    Parameters
    ----------
    sheet
        What it says. Same values in, same bytes out.

    Returns
    -------
    bytes
        A PDF of one or two pages (more only where the content cannot be held by two), with embedded fonts, to be
        printed without scaling.
    """
    plan = _chosen_plan(sheet)
    return printed(
        plan.pages,
        plan.draw,
        sheet.paper,
        title=f"{sheet.words.title}: {sheet.rider.latin_name or sheet.rider.name}, {sheet.date}",
        author=sheet.studio.name,
        language=sheet.language,
    )


def _chosen_plan(sheet: FitSheet) -> "_Plan":
    """The roomiest layout that holds everything in two pages.

    Type is set a little closer where that keeps the position table whole, and closer still only for the sake of pages.
    """
    plans: list[_Plan] = []
    for setting, share in LAYOUTS:
        plans.append(_Plan(sheet, setting, share))
        best = min(plans, key=lambda plan: plan.shortfall)
        if best.shortfall == NO_SHORTFALL or (len(plans) > 1 and not best.shortfall[0]):
            break
    return best


class _Plan:
    """Everything laid out, so that each page knows how many there are before the first is drawn."""

    def __init__(self, sheet: FitSheet, setting: Setting, drawing_share: float) -> None:
        self.sheet, self.words, self.setting = sheet, sheet.words, setting
        self.frame = frame_box(sheet.paper)
        self.left, self.right = self.frame.left + PAD_MM, self.frame.right - PAD_MM
        self.width = self.right - self.left
        self.view = self._view(drawing_share * self.frame.height)
        self.regions: list[Region] = []
        self.table_broken = False
        self._lay_out()

    @property
    def pages(self) -> int:
        return 1 + max(region.page for region in self.regions)

    @property
    def shortfall(self) -> tuple[int, bool]:
        """Pages beyond the wanted two, and whether the position table runs over to the next page."""
        return max(0, self.pages - WANTED_PAGES), self.table_broken

    def _view(self, height_mm: float) -> BikeView:
        return bike_view(
            self.sheet.points_before,
            self.sheet.points_after,
            width_mm=self.frame.width - 2.0,
            height_mm=height_mm,
            facts=self.sheet.facts,
            style=self.sheet.style,
            words=self.words.drawing,
        )

    def _lay_out(self) -> None:
        top = self.frame.top - self.view.scene.height_mm - PAD_MM
        rest = self._table(top)
        self.table_broken = rest < len(self.sheet.rows)
        column = (self.width - GUTTER_MM) / COLUMNS
        slips = [*self._table_continued(rest, column), *Sections(self.sheet, column, self.setting).slips()]
        region = self.regions[0]
        top = region.top_mm - used_mm(region.placed) - PAD_MM
        lefts = tuple(self.left + number * (column + GUTTER_MM) for number in range(COLUMNS))
        tops = (top, self.frame.top - PAD_MM)
        for page, placed in enumerate(paged(slips, lambda page: self._room(page, tops), COLUMNS)):
            self.regions.append(Region(page, tops[min(page, 1)], lefts, placed))

    def _room(self, page: int, tops: tuple[float, float]) -> float:
        """Height for the columns on a page; a short remainder of the first one is not used."""
        height = tops[min(page, 1)] - self._floor(page)
        return height if page or height >= LEAST_RUN_MM else 0.0

    def _table(self, top: float) -> int:
        """Place the position table across page one and return how many of its rows fit."""
        rows = self.sheet.rows
        slips = position_slips(rows, self.words, self.words.position, self.width, self.setting)
        placed = filled(list(slips), top - self._floor(0), 1)
        self.regions.append(Region(0, top, (self.left,), placed))
        return max(0, len(placed) - 2)

    def _table_continued(self, done: int, column: float) -> Sequence[Slip]:
        rows = self.sheet.rows[done:]
        if not rows:
            return []
        title = self.words.continued.format(section=self.words.position)
        return list(position_slips(rows, self.words, title, column, self.setting))

    def _floor(self, page: int) -> float:
        """The lowest height that a page's content may reach: clear of its title block."""
        return self.frame.bottom + block_height_mm(self._block(page, 1)) + PAD_MM

    def draw(self, pen: Pen, page: int) -> None:
        draw_frame(pen, self.frame, self.sheet.style.unit)
        if page == 0:
            draw_scene(pen, self.view.scene, self.frame.left + 1.0, self.frame.top - self.view.scene.height_mm - 1.0)
        for region in self.regions:
            if region.page == page:
                _draw_region(pen, region)
        block = draw_block(pen, self.frame, self._block(page, self.pages))
        rule(pen, self.frame.left, block.left, block.top, THIN)
        self._print_notes(pen, block, page)

    def _print_notes(self, pen: Pen, block: Box, page: int) -> None:
        """How to read and print the sheet, in the corner left of the title block."""
        words = self.words
        unit = words.inches if self.sheet.style.unit == "in" else words.millimetres
        notes = [words.units_note.format(unit=unit), words.real_note] if page == 0 else []
        top = block.top - 0.8
        for note in [*notes, words.print_note]:
            for slip in paragraph_slips(note, self.frame.width - WIDTH_MM - 2 * PAD_MM, ROOMY.small):
                slip.draw(pen, self.left, top)
                top -= slip.height_mm

    def _block(self, page: int, pages: int) -> Rows:
        sheet, words = self.sheet, self.words
        number = words.page_of.format(page=page + 1, pages=pages)
        rider, bike = sheet.rider, sheet.bike
        latin = rider.latin_name if rider.latin_name != rider.name else ""
        if page:
            return (
                (
                    9.5,
                    (
                        Field(words.rider, latin if latin and has_gaps(rider.name) else rider.name, 4),
                        Field(words.bike, bike.label, 3),
                        Field(words.date, sheet.date, 2),
                        Field(words.sheet, number, 1.3),
                    ),
                ),
            )
        return (
            (10.5, (Field("", sheet.studio.name, below=sheet.studio.contact),)),
            (
                12.5,
                (
                    Field(words.rider, rider.name, below=latin),
                    Field(words.bike, bike.label, below=bike.description),
                ),
            ),
            (
                9.5,
                (
                    Field(words.service, sheet.service, 3),
                    Field(words.fitter, sheet.fitter, 3),
                    Field(words.date, sheet.date, 3),
                    Field(words.scale, self.view.scale_text, 1.6),
                    Field(words.sheet, number, 1.6),
                ),
            ),
        )


def _draw_region(pen: Pen, region: Region) -> None:
    for place in region.placed:
        place.slip.draw(pen, region.lefts_mm[place.column], region.top_mm - place.down_mm)
