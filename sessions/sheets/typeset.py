"""Lines of type: how wide a text is, where it breaks, and how far it must shrink to fit."""

from collections.abc import Iterator
from dataclasses import dataclass

from sessions.sheets.fonts import Style, printable, text_width_em

PT_MM = 25.4 / 72
ELLIPSIS = "…"
SHRINK = 0.94
FIRST_UNSPACED = "\u2e80"  # from here on (Chinese, Japanese, Korean) a line may break between any two characters


@dataclass(frozen=True, slots=True)
class Face:
    """A style at a size [pt]."""

    size_pt: float
    style: Style = "regular"

    @property
    def leading_mm(self) -> float:
        """From one baseline to the next [mm]."""
        return self.size_pt * PT_MM * 1.22

    def at(self, size_pt: float) -> "Face":
        """The same style at another size."""
        return Face(size_pt, self.style)


def width_mm(text: str, face: Face) -> float:
    """Width [mm] of printable text."""
    return text_width_em(text, face.style) * face.size_pt * PT_MM


def wrapped(text: str, face: Face, room_mm: float) -> tuple[str, ...]:
    """Break text into lines no wider than `room_mm`; a word that is wider than a line is cut.

    Line breaks in the text are kept; empty text gives no line.

    >>> wrapped("one two", Face(10), 1000), wrapped("", Face(10), 50)
    (('one two',), ())
    """
    return tuple(line for part in text.splitlines() for line in _lines(printable(part), face, room_mm))


def _lines(text: str, face: Face, room_mm: float) -> Iterator[str]:
    line = ""
    for piece in _breakable(text, face, room_mm):
        if line and width_mm((line + piece).rstrip(), face) > room_mm:
            yield line.rstrip()
            line = ""
        line += piece
    if line.strip():
        yield line.rstrip()


def _breakable(text: str, face: Face, room_mm: float) -> Iterator[str]:
    """Words with the space after them, cut further where there are no spaces or a word is too long."""
    for word in text.split(" "):
        if word and (word[0] >= FIRST_UNSPACED or width_mm(word, face) > room_mm):
            yield from _cut(word, face, room_mm)
            yield " "
        elif word:
            yield word + " "


def _cut(word: str, face: Face, room_mm: float) -> Iterator[str]:
    part = ""
    for each in word:
        if part and (each >= FIRST_UNSPACED or width_mm(part + each, face) > room_mm):
            yield part
            part = ""
        part += each
    yield part


def fitted(text: str, face: Face, least_pt: float, room_mm: float, most_lines: int) -> tuple[Face, tuple[str, ...]]:
    """The largest face down to `least_pt` at which the text takes no more than `most_lines`, and its lines.

    One line at a smaller size is preferred to several; what does not fit even at the least size ends with an ellipsis.
    """
    plain = printable(text)
    for lines_allowed in range(1, most_lines + 1):
        size = face.size_pt
        while size >= least_pt:
            lines = wrapped(plain, face.at(size), room_mm)
            if len(lines) <= lines_allowed:
                return face.at(size), lines
            size *= SHRINK
    least = face.at(least_pt)
    lines = wrapped(plain, least, room_mm)
    return least, (*lines[: most_lines - 1], _ended(lines[most_lines - 1], least, room_mm))


def _ended(line: str, face: Face, room_mm: float) -> str:
    while line and width_mm(line + ELLIPSIS, face) > room_mm:
        line = line[:-1]
    return line.rstrip() + ELLIPSIS
