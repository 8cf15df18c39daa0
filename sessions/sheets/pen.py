"""The one place that draws on a PDF canvas: millimetres in, y up from the bottom left corner of the page."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from reportlab.pdfgen.canvas import Canvas

from sessions.sheets.fonts import printable, runs, text_width_em
from sessions.sheets.scene import Anchor, Point
from sessions.sheets.typeset import PT_MM, Face

MM_PT = 1 / PT_MM

Tone = Literal["ink", "soft", "rule", "pale", "accent", "paper"]
TONES: dict[Tone, tuple[float, float, float]] = {
    "ink": (0.118, 0.137, 0.153),
    "soft": (0.33, 0.337, 0.31),
    "rule": (0.66, 0.63, 0.56),
    "pale": (0.905, 0.89, 0.855),
    "accent": (0.09, 0.333, 0.486),
    "paper": (1.0, 1.0, 1.0),
}


@dataclass(frozen=True, slots=True)
class Nib:
    """How a stroke looks: width [mm], tone, lengths of dash and gap [mm], and the tone inside an outlined area."""

    width_mm: float
    tone: Tone = "ink"
    dash_mm: tuple[float, ...] = ()
    inside: Tone | None = None


HAIRLINE = Nib(0.09, "rule")
THIN = Nib(0.13, "ink")
THICK = Nib(0.35, "ink")


class Pen:
    """Draws type and strokes on one canvas and changes the canvas' state only where it must."""

    def __init__(self, canvas: Canvas) -> None:
        """Draw on `canvas`; call `new_page` after each of its pages."""
        self.canvas = canvas
        self.new_page()

    def new_page(self) -> None:
        """Forget the state: a new page starts with the canvas' defaults."""
        self._nib: Nib | None = None
        self._fill: Tone | None = None

    def text(self, at: Point, text: str, face: Face, *, tone: Tone = "ink", anchor: Anchor = "start") -> None:
        """Write one line with its baseline at `at`."""
        plain = printable(text)
        x = at[0] * MM_PT
        if anchor != "start":
            x -= text_width_em(plain, face.style) * face.size_pt * (1.0 if anchor == "end" else 0.5)
        self._write(x, at[1] * MM_PT, plain, face, tone)

    def turned_text(self, at: Point, text: str, face: Face, turn_deg: float, tone: Tone, anchor: Anchor) -> None:
        """Write one line turned anticlockwise about `at`."""
        self.canvas.saveState()
        self.canvas.translate(at[0] * MM_PT, at[1] * MM_PT)
        self.canvas.rotate(turn_deg)
        self.text((0.0, 0.0), text, face, tone=tone, anchor=anchor)
        self.canvas.restoreState()
        self.new_page()

    def _write(self, x_pt: float, y_pt: float, plain: str, face: Face, tone: Tone) -> None:
        self._fill_with(tone)
        written = self.canvas.beginText(x_pt, y_pt)
        for name, part in runs(plain, face.style):
            written.setFont(name, face.size_pt)
            written.textOut(part)
        self.canvas.drawText(written)

    def lines(self, segments: Sequence[tuple[Point, Point]], nib: Nib) -> None:
        """Stroke straight lines."""
        self._stroke_with(nib)
        self.canvas.lines([(a[0] * MM_PT, a[1] * MM_PT, b[0] * MM_PT, b[1] * MM_PT) for a, b in segments])

    def polyline(self, points: Sequence[Point], nib: Nib, *, closed: bool = False, filled: bool = False) -> None:
        """Stroke a run of straight lines, or fill the shape they close; with a tone for its inside, do both."""
        stroked = not filled or nib.inside is not None
        if filled:
            self._fill_with(nib.inside or nib.tone)
        if stroked:
            self._stroke_with(nib)
        path = self.canvas.beginPath()
        path.moveTo(points[0][0] * MM_PT, points[0][1] * MM_PT)
        for x, y in points[1:]:
            path.lineTo(x * MM_PT, y * MM_PT)
        if closed or filled:
            path.close()
        self.canvas.drawPath(path, stroke=int(stroked), fill=int(filled))

    def box(self, left: float, bottom: float, width: float, height: float, nib: Nib) -> None:
        """Stroke an upright rectangle."""
        self._stroke_with(nib)
        self.canvas.rect(left * MM_PT, bottom * MM_PT, width * MM_PT, height * MM_PT)

    def circle(self, centre: Point, radius_mm: float, nib: Nib) -> None:
        """Stroke a circle."""
        self._stroke_with(nib)
        self.canvas.circle(centre[0] * MM_PT, centre[1] * MM_PT, radius_mm * MM_PT)

    def _stroke_with(self, nib: Nib) -> None:
        if nib == self._nib:
            return
        self._nib = nib
        self.canvas.setLineWidth(nib.width_mm * MM_PT)
        self.canvas.setStrokeColorRGB(*TONES[nib.tone])
        self.canvas.setDash([part * MM_PT for part in nib.dash_mm])

    def _fill_with(self, tone: Tone) -> None:
        if tone != self._fill:
            self._fill = tone
            self.canvas.setFillColorRGB(*TONES[tone])
