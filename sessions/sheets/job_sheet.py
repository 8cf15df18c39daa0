"""The job sheet: what a workshop is asked to put right before a session, with room to answer by hand."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sessions.sheets.content import Bike, Paper, Rider, Studio
from sessions.sheets.flow import Placed, Slip, paged
from sessions.sheets.form_slips import BOX_GAP_MM, BOX_MM, tick_box
from sessions.sheets.form_slips import FACE as TICK_FACE
from sessions.sheets.numbers import LengthUnit
from sessions.sheets.paper import draw_frame, frame_box, printed, rule
from sessions.sheets.pen import HAIRLINE, THIN, Pen
from sessions.sheets.qr import draw_qr, qr_modules
from sessions.sheets.table import ROOMY, glued, heading_slip, paragraph_slips, spaced
from sessions.sheets.title_block import WIDTH_MM, Field, Rows, block_height_mm, draw_block
from sessions.sheets.typeset import PT_MM, Face, fitted, width_mm, wrapped
from sessions.sheets.words import ENGLISH_JOB, WORKSHOP_CAUTIONS, JobSheetWords

PAD_MM = 3.0
CODE_MM = 34.0
ANSWER_SHARE = 0.36
GUTTER_MM = 5.0
NUMBER_MM = 6.5
LABEL_MM = 23.0
TICK_MM = 5.6
NOTE_MM = 7.2
NOTE_LINES = 2
LINE_SPACE_MM = 3.0
TITLE = Face(17.0, "bold")
SUBTITLE = Face(9.0)
LINE_TITLE = Face(9.6, "bold")
BODY = Face(8.2)
LABEL = Face(6.4)
STRONG = Face(8.2, "bold")
ADDRESS = Face(6.6)
DUE = Face(11.0, "bold")


@dataclass(frozen=True, slots=True)
class JobLine:
    """One thing to put right: what is wrong, what the session needs, the usual way, a part, by when, and its caution.

    ``answers`` are what was answered before the sheet was printed, one sentence each.
    """

    title: str
    wrong: str = ""
    needs: tuple[str, ...] = ()
    work: str = ""
    part: str = ""
    start_by: str = ""
    caution: str = ""
    not_to_ride: bool = False
    answers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobSheet:
    """Everything on a job sheet. Of the rider it holds what they agreed to share, and nothing more."""

    studio: Studio
    bike: Bike
    number: str
    workshop: str
    session: str
    lines: tuple[JobLine, ...]
    address: str = ""
    rider: Rider | None = None
    rider_contact: tuple[str, ...] = ()
    start_by: str = ""
    note: str = ""
    date: str = ""
    cautions: tuple[str, ...] = WORKSHOP_CAUTIONS
    paper: Paper = "A4"
    unit: LengthUnit = "mm"
    language: str = "en"
    words: JobSheetWords = ENGLISH_JOB


def job_sheet_pdf(sheet: JobSheet) -> bytes:
    """Print a job sheet.

    Returns
    -------
    bytes
        A PDF, usually of one page, the same bytes for the same sheet. Lines that do not fit go on to further pages, none of
        them cut unless it is taller than a page.
    """
    plan = _Plan(sheet)
    title = f"{sheet.words.title} {sheet.number}: {sheet.studio.name}"
    return printed(
        len(plan.pages), plan.draw, sheet.paper, title=title, author=sheet.studio.name, language=sheet.language
    )


class _Plan:
    def __init__(self, sheet: JobSheet) -> None:
        self.sheet, self.words = sheet, sheet.words
        self.frame = frame_box(sheet.paper)
        self.left = self.frame.left + PAD_MM
        self.width = self.frame.width - 2 * PAD_MM
        self.head = list(_head(sheet, self.width - (CODE_MM + GUTTER_MM if sheet.address else 0.0)))
        slips = [*_lines(sheet, self.width), *_cautions(sheet, self.width)]
        self.pages: list[list[Placed]] = paged(slips, lambda page: self._top(page) - self._floor(page), 1) or [[]]

    def _floor(self, page: int) -> float:
        return self.frame.bottom + block_height_mm(self._block(page, 1)) + PAD_MM

    def _top(self, page: int) -> float:
        head = sum(slip.height_mm for slip in self.head) + PAD_MM
        return self.frame.top - PAD_MM - (0.0 if page else max(head, CODE_MM if self.sheet.address else 0.0))

    def draw(self, pen: Pen, page: int) -> None:
        draw_frame(pen, self.frame, self.sheet.unit)
        if not page:
            self._draw_head(pen)
        for place in self.pages[page]:
            place.slip.draw(pen, self.left, self._top(page) - place.down_mm)
        block = draw_block(pen, self.frame, self._block(page, len(self.pages)))
        rule(pen, self.frame.left, block.left, block.top, THIN)
        self._draw_foot(pen, block.top)

    def _draw_head(self, pen: Pen) -> None:
        top = self.frame.top - PAD_MM
        for slip in self.head:
            slip.draw(pen, self.left, top)
            top -= slip.height_mm
        if self.sheet.address:
            right = self.frame.right - 1.0
            draw_qr(pen, qr_modules(self.sheet.address), right - CODE_MM, self.frame.top - 1.0, CODE_MM)

    def _draw_foot(self, pen: Pen, top: float) -> None:
        """Say, left of the title block, what becomes of an answer on paper."""
        room = self.frame.width - WIDTH_MM - 2 * PAD_MM
        top -= 0.8
        for slip in paragraph_slips(self.words.answer_note, room, ROOMY.small):
            slip.draw(pen, self.left, top)
            top -= slip.height_mm

    def _block(self, page: int, pages: int) -> Rows:
        sheet, words = self.sheet, self.words
        counted = Field(words.sheet, words.page_of.format(page=page + 1, pages=pages), 1.4)
        second = (
            9.5,
            (
                Field(words.workshop, sheet.workshop, 4),
                Field(words.number, sheet.number, 1.4),
                Field(words.session, sheet.session, 3),
                counted,
            ),
        )
        if page:
            return (second,)
        rider = sheet.rider
        named = Field(words.bike, sheet.bike.label, 3, below=sheet.bike.description)
        latin = rider.latin_name if rider and rider.latin_name != rider.name else ""
        owner = (Field(words.rider, rider.name, 3, below=latin),) if rider else ()
        return ((10.5, (Field("", sheet.studio.name, below=sheet.studio.contact),)), (12.5, (*owner, named)), second)


def _head(sheet: JobSheet, width: float) -> Iterator[Slip]:
    words = sheet.words
    yield from paragraph_slips(f"{words.title} {sheet.number}", width, TITLE)
    parts = [words.for_workshop.format(workshop=sheet.workshop), sheet.date]
    yield from paragraph_slips(" · ".join(part for part in parts if part), width, SUBTITLE)
    if sheet.start_by:
        yield _gap(1.2)
        yield from paragraph_slips(words.deadline.format(start=sheet.start_by, session=sheet.session), width, DUE)
    yield _gap(1.2)
    for text in (words.intro.format(studio=sheet.studio.name), *_who(sheet)):
        yield from paragraph_slips(text, width, BODY)
    if sheet.note:
        yield from paragraph_slips(f"{words.note}: {sheet.note}", width, STRONG)
    if sheet.address:
        yield _gap(1.0)
        yield from paragraph_slips(words.scan, width, BODY)
        yield from paragraph_slips(sheet.address, width, ADDRESS)


def _who(sheet: JobSheet) -> Iterator[str]:
    """Whom to ask: the studio always, the rider as far as they agreed."""
    words = sheet.words
    yield words.ask_studio.format(contact=" · ".join(part for part in (sheet.studio.phone, sheet.studio.email) if part))
    contact = " · ".join(sheet.rider_contact)
    yield words.ask_rider.format(contact=contact) if contact else words.rider_private


def _gap(height_mm: float) -> Slip:
    return Slip(height_mm, lambda *_: None)


def _lines(sheet: JobSheet, width: float) -> Iterator[Slip]:
    for number, line in enumerate(sheet.lines, start=1):
        first, *rest = glued(_line(line, number, width, sheet.words))
        yield spaced(first, LINE_SPACE_MM)
        yield from rest


def _line(line: JobLine, number: int, width: float, words: JobSheetWords) -> list[Slip]:
    """A line as slips: the text on the left, and beside its first one the place for the answer."""
    answer_width = ANSWER_SHARE * width
    room = width - answer_width - GUTTER_MM
    slips = [_indented(slip) for slip in _texts(line, room - NUMBER_MM, words)]
    box = _Answer(line.answers, answer_width, words)
    text_mm = sum(slip.height_mm for slip in slips)
    if text_mm < box.height_mm:
        slips.append(_gap(box.height_mm - text_mm))
    begun = slips[0]

    def draw(pen: Pen, left: float, top: float) -> None:
        pen.lines([((left, top), (left + width, top))], THIN)
        pen.text((left, top - 0.7 - LINE_TITLE.size_pt * PT_MM * 0.9), str(number), LINE_TITLE, tone="accent")
        begun.draw(pen, left, top)
        box.draw(pen, left + room + GUTTER_MM, top)

    return [replace(begun, draw=draw), *slips[1:]]


def _indented(slip: Slip) -> Slip:
    def draw(pen: Pen, left: float, top: float) -> None:
        slip.draw(pen, left + NUMBER_MM, top)

    return replace(slip, draw=draw)


def _texts(line: JobLine, width: float, words: JobSheetWords) -> Iterator[Slip]:
    yield from paragraph_slips(line.title or words.no_title, width, LINE_TITLE)
    if line.not_to_ride:
        yield from paragraph_slips(words.not_to_ride, width, STRONG, mark="!")
    yield from _labelled(words.wrong, line.wrong, width)
    yield from _labelled(words.needs, "\n".join(line.needs), width, face=STRONG)
    yield from _labelled(words.work, line.work, width)
    yield from _labelled(words.part, line.part, width)
    yield from _labelled(words.start_by, line.start_by, width)
    if line.caution:
        yield _gap(0.6)
        yield from paragraph_slips(line.caution, width, Face(7.2, "italic"), mark="!")


def _labelled(label: str, text: str, width: float, *, face: Face = BODY) -> Iterator[Slip]:
    """A text with its small label in the margin before it."""
    for number, slip in enumerate(paragraph_slips(text, width - LABEL_MM, face)):
        yield _beside(label if number == 0 else "", slip)


def _beside(label: str, slip: Slip) -> Slip:
    face, lines = fitted(label, LABEL, 0.8 * LABEL.size_pt, LABEL_MM - 1.5, 1) if label else (LABEL, ())

    def draw(pen: Pen, left: float, top: float) -> None:
        for line in lines:
            pen.text((left, top - 0.7 - BODY.size_pt * PT_MM * 0.9), line, face, tone="soft")
        slip.draw(pen, left + LABEL_MM, top)

    return replace(slip, draw=draw)


class _Answer:
    """Boxes to tick, rules for a note, and a place for the name; above them what was answered already."""

    def __init__(self, answers: Sequence[str], width: float, words: JobSheetWords) -> None:
        self.width, self.words = width, words
        self.given = [line for answer in answers for line in wrapped(answer, Face(7.2), width)]
        self.boxes = (words.done, words.needs_part, words.cannot)

    @property
    def height_mm(self) -> float:
        ticks = TICK_MM * len(self._rows())
        return 1.4 + len(self.given) * Face(7.2).leading_mm + ticks + NOTE_LINES * NOTE_MM + NOTE_MM + 2.0

    def _rows(self) -> list[list[tuple[float, str]]]:
        """Boxes with their words, as many beside each other as fit."""
        rows: list[list[tuple[float, str]]] = [[]]
        x = 0.0
        for word in self.boxes:
            width = BOX_MM + BOX_GAP_MM + width_mm(word, TICK_FACE)
            if rows[-1] and x + width > self.width:
                rows.append([])
                x = 0.0
            rows[-1].append((x, word))
            x += width + 3.4
        return rows

    def draw(self, pen: Pen, left: float, top: float) -> None:
        face, y = Face(7.2), top - 1.4
        for line in self.given:
            y -= face.leading_mm
            pen.text((left, y + 0.7), line, face, tone="accent")
        for row in self._rows():
            for x, word in row:
                tick_box(pen, (left + x, y - 1.2 - BOX_MM))
                pen.text((left + x + BOX_MM + BOX_GAP_MM, y - 3.8), word, TICK_FACE)
            y -= TICK_MM
        labels = [self.words.answer_for_note, *[""] * (NOTE_LINES - 1), self.words.answer_by]
        for label in labels:
            pen.text((left, y - 2.4), label, LABEL, tone="soft")
            y -= NOTE_MM
            pen.lines([((left, y), (left + self.width, y))], HAIRLINE)


def _cautions(sheet: JobSheet, width: float) -> Iterator[Slip]:
    if not sheet.cautions:
        return
    yield spaced(heading_slip(sheet.words.cautions, width, ROOMY), 1.0)
    slips = [slip for caution in sheet.cautions for slip in paragraph_slips(caution, width, ROOMY.small, mark="!")]
    yield from glued(slips)
