"""The pre-visit check on paper: how to look, boxes to tick and blanks to fill, for a rider who would rather write."""

from collections.abc import Iterator
from dataclasses import dataclass

from sessions.sheets.content import Paper, Studio
from sessions.sheets.flow import Placed, Slip, paged
from sessions.sheets.form_slips import blank_lines, blanks_slips, discomfort_slip, tick_slips
from sessions.sheets.numbers import LengthUnit
from sessions.sheets.paper import draw_frame, frame_box, printed, rule
from sessions.sheets.pen import THIN, Pen
from sessions.sheets.table import ROOMY, glued, heading_slip, paragraph_slips, spaced
from sessions.sheets.title_block import WIDTH_MM, Field, Rows, block_height_mm, draw_block
from sessions.sheets.typeset import Face
from sessions.sheets.words import ENGLISH_FORM, STANDING_CAUTIONS, PaperFormWords

PAD_MM = 3.0
GUTTER_MM = 6.0
COLUMNS = 2
TITLE = Face(15.0, "bold")
QUESTION = Face(8.6, "bold")
HELP = Face(7.2)
WHY = Face(7.2, "italic")
BLOCK_MM = 9.5
REMARK_LINES = 5
CHECK_SPACE_MM = 1.8
TO_FILL_IN = " "  # an empty cell of the title block that is meant to be written into


@dataclass(frozen=True, slots=True)
class PaperBlank:
    """A figure to write down, with its unit."""

    label: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class PaperCheck:
    """One check: what to look at, why, how, with which tools, and the answers to tick.

    ``could_not`` stands beside the last box, the form's common words where it is empty.
    """

    question: str
    why: str = ""
    steps: tuple[str, ...] = ()
    tools: str = ""
    minutes: int | None = None
    caution: str = ""
    answers: tuple[str, ...] = ()
    blanks: tuple[PaperBlank, ...] = ()
    could_not: str = ""


@dataclass(frozen=True, slots=True)
class PaperGroup:
    """Checks of one part of the bike."""

    title: str
    checks: tuple[PaperCheck, ...]


@dataclass(frozen=True, slots=True)
class PaperArea:
    """A part of the body that may hurt; `sided` ones have a left and a right."""

    label: str
    sided: bool = True


@dataclass(frozen=True, slots=True)
class PaperForm:
    """Everything on the form. Empty rider, bike or session leave room to write."""

    studio: Studio
    groups: tuple[PaperGroup, ...]
    rider: str = ""
    bike: str = ""
    session: str = ""
    intro: str = ""
    areas: tuple[PaperArea, ...] = ()
    cautions: tuple[str, ...] = STANDING_CAUTIONS
    paper: Paper = "A4"
    unit: LengthUnit = "mm"
    language: str = "en"
    words: PaperFormWords = ENGLISH_FORM


def paper_form_pdf(form: PaperForm) -> bytes:
    """Print the pre-visit check as a form.

    Returns
    -------
    bytes
        A PDF with as many pages as the checks need, the same bytes for the same form, to be printed without scaling so
        that the ruled edge can serve as a tape.
    """
    plan = _Plan(form)
    title = f"{form.words.title}: {form.studio.name}"
    return printed(len(plan.pages), plan.draw, form.paper, title=title, author=form.studio.name, language=form.language)


class _Plan:
    def __init__(self, form: PaperForm) -> None:
        self.form, self.words = form, form.words
        self.frame = frame_box(form.paper)
        self.left = self.frame.left + PAD_MM
        self.width = self.frame.width - 2 * PAD_MM
        self.column = (self.width - GUTTER_MM) / COLUMNS
        self.floor = self.frame.bottom + block_height_mm(self._block(0, 1)) + PAD_MM
        self.head = list(paragraph_slips(form.words.title, self.width, TITLE))
        from_whom = " · ".join(part for part in (form.studio.name, form.studio.contact) if part)
        self.head += [
            *paragraph_slips(from_whom, self.width, HELP),
            *paragraph_slips(form.intro, self.width, ROOMY.body),
        ]
        self.pages: list[list[Placed]] = paged(list(self._slips()), lambda page: self._top(page) - self.floor, COLUMNS)

    def _top(self, page: int) -> float:
        head = 0.0 if page else sum(slip.height_mm for slip in self.head) + PAD_MM
        return self.frame.top - PAD_MM - head

    def _slips(self) -> Iterator[Slip]:
        number = 0
        for group in self.form.groups:
            yield heading_slip(group.title, self.column, ROOMY)
            for check in group.checks:
                number += 1
                first, *rest = glued(_check_slips(check, number, self.column, self.words))
                yield spaced(first, CHECK_SPACE_MM)
                yield from rest
        yield from self._discomfort()
        yield from self._remarks()
        yield from self._cautions()

    def _discomfort(self) -> Iterator[Slip]:
        if not self.form.areas:
            return
        yield heading_slip(self.words.discomfort, self.column, ROOMY)
        yield from glued(paragraph_slips(self.words.discomfort_help, self.column, HELP), to_next=True)
        for area in self.form.areas:
            sides = (self.words.left, self.words.right) if area.sided else (self.words.middle,)
            yield discomfort_slip(area.label, sides, self.words.score, self.column)

    def _remarks(self) -> Iterator[Slip]:
        yield heading_slip(self.words.remarks, self.column, ROOMY)
        yield from glued(blank_lines(REMARK_LINES, self.column))

    def _cautions(self) -> Iterator[Slip]:
        if not self.form.cautions:
            return
        yield heading_slip(self.words.cautions, self.column, ROOMY)
        for caution in self.form.cautions:
            yield from paragraph_slips(caution, self.column, ROOMY.small, mark="!")

    def draw(self, pen: Pen, page: int) -> None:
        draw_frame(pen, self.frame, self.form.unit)
        top = self.frame.top - PAD_MM
        for slip in [] if page else self.head:
            slip.draw(pen, self.left, top)
            top -= slip.height_mm
        for place in self.pages[page]:
            x = self.left + place.column * (self.column + GUTTER_MM)
            place.slip.draw(pen, x, self._top(page) - place.down_mm)
        block = draw_block(pen, self.frame, self._block(page, len(self.pages)))
        rule(pen, self.frame.left, block.left, block.top, THIN)
        for number, slip in enumerate(self._foot_note()):
            slip.draw(pen, self.left, block.top - 0.8 - number * slip.height_mm)

    def _foot_note(self) -> Iterator[Slip]:
        return paragraph_slips(self.words.print_note, self.frame.width - WIDTH_MM - 2 * PAD_MM, ROOMY.small)

    def _block(self, page: int, pages: int) -> Rows:
        words, form = self.words, self.form
        number = words.page_of.format(page=page + 1, pages=pages)
        return (
            (
                BLOCK_MM,
                (
                    Field(words.rider, form.rider or TO_FILL_IN, 4),
                    Field(words.bike, form.bike or TO_FILL_IN, 3),
                    Field(words.session, form.session or TO_FILL_IN, 3),
                    Field(words.sheet, number, 1.4),
                ),
            ),
        )


def _check_slips(check: PaperCheck, number: int, width_mm: float, words: PaperFormWords) -> Iterator[Slip]:
    """One check from its question to its boxes."""
    yield from paragraph_slips(f"{number}. {check.question}", width_mm, QUESTION)
    if check.why:
        yield from paragraph_slips(check.why, width_mm, WHY)
    minutes = words.minutes.format(minutes=check.minutes) if check.minutes is not None else ""
    tools = f"{words.tools}: {check.tools}" if check.tools else ""
    if tools or minutes:
        yield from paragraph_slips(" · ".join(part for part in (tools, minutes) if part), width_mm, HELP)
    for position, step in enumerate(check.steps, start=1):
        yield from paragraph_slips(step, width_mm, HELP, mark=f"{position}")
    if check.caution:
        yield from paragraph_slips(check.caution, width_mm, Face(HELP.size_pt, "bold"), mark="!")
    if check.blanks:
        yield from blanks_slips([(blank.label, blank.unit) for blank in check.blanks], width_mm)
    yield from tick_slips([*check.answers, check.could_not or words.could_not], width_mm)
