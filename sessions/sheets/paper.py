"""The sheet of paper: its size, its frame, and the tape along its left edge."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from sessions.sheets.boxes import Box
from sessions.sheets.content import Paper
from sessions.sheets.fonts import printable
from sessions.sheets.numbers import MM_PER_INCH, LengthUnit
from sessions.sheets.pen import HAIRLINE, MM_PT, Nib, Pen
from sessions.sheets.scene import Point
from sessions.sheets.typeset import Face

# ISO 216 and ANSI/ASME Y14.1 (8.5 × 11 inches).
SIZES_MM: Mapping[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MARGIN_MM = 8.0
TAPE_MARGIN_MM = 15.0
FRAME = Nib(0.3, "ink")
TICKS = Nib(0.1, "ink")
TICK_MM = (1.3, 2.2, 3.2)
TAPE_FACE = Face(5.0)


@dataclass(frozen=True, slots=True)
class Tape:
    """Divisions of the edge ruler: the smallest [mm], how many make a middle and a long one, and the long one's figure."""

    step_mm: float
    middle: int
    long: int
    figure: int


TAPES: Mapping[LengthUnit, Tape] = {
    "mm": Tape(1.0, 5, 10, 10),
    "in": Tape(MM_PER_INCH / 16, 8, 16, 1),
}


def frame_box(paper: Paper) -> Box:
    """The frame inside the margins [mm]."""
    width, height = SIZES_MM[paper]
    return Box(TAPE_MARGIN_MM, MARGIN_MM, width - MARGIN_MM, height - MARGIN_MM)


def printed(
    pages: int, draw: Callable[[Pen, int], None], paper: Paper, *, title: str, author: str, language: str
) -> bytes:
    """A PDF of so many pages, each drawn by its number: the same bytes for the same drawing, to be printed without scaling."""
    target = BytesIO()
    canvas = _open_canvas(target, paper, title=title, author=author, language=language)
    pen = Pen(canvas)
    for page in range(pages):
        draw(pen, page)
        canvas.showPage()
        pen.new_page()
    canvas.save()
    return target.getvalue()


def _open_canvas(target: BytesIO, paper: Paper, *, title: str, author: str, language: str) -> Canvas:
    width, height = SIZES_MM[paper]
    canvas = Canvas(target, pagesize=(width * MM_PT, height * MM_PT), invariant=1, lang=language, pageCompression=1)
    canvas.setTitle(printable(title))
    canvas.setAuthor(printable(author))
    canvas.setCreator(printable(author))
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas


def draw_frame(pen: Pen, box: Box, unit: LengthUnit) -> None:
    """Draw the frame and, outside its left edge, a tape that is true at 100 %."""
    pen.box(box.left, box.bottom, box.width, box.height, FRAME)
    tape = TAPES[unit]
    pen.lines(list(_ticks(box, tape)), TICKS)
    for mark in range(1, int(box.height / (tape.step_mm * tape.long)) + 1):
        y = box.bottom + mark * tape.long * tape.step_mm
        pen.text((box.left - TICK_MM[2] - 0.6, y - 0.6), str(mark * tape.figure), TAPE_FACE, tone="soft", anchor="end")


def _ticks(box: Box, tape: Tape) -> Iterator[tuple[Point, Point]]:
    for step in range(int(box.height / tape.step_mm) + 1):
        y = box.bottom + step * tape.step_mm
        rank = (step % tape.middle == 0) + (step % tape.long == 0)
        yield (box.left, y), (box.left - TICK_MM[rank], y)


def rule(pen: Pen, left: float, right: float, y: float, nib: Nib = HAIRLINE) -> None:
    """A thin rule across."""
    pen.lines([((left, y), (right, y))], nib)
