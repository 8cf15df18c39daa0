"""The side view of a bike, to a standard scale, before under after, drawn from its measured points."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sessions.sheets.bike_drawing import BikeDrawing
from sessions.sheets.bike_facts import NO_FACTS, BikeFacts
from sessions.sheets.bike_points import FarPoint
from sessions.sheets.bike_subject import Paper, Subject
from sessions.sheets.board import Board
from sessions.sheets.boxes import Box, around
from sessions.sheets.numbers import METRIC, NumberStyle
from sessions.sheets.scales import largest_that_fits, scale_text
from sessions.sheets.scene import Point, Scene, Text, shifted
from sessions.sheets.words import ENGLISH_DRAWING, DrawingWords

EDGE_MM = 1.5
RICHNESS = ((True, True), (False, True), (False, False))  # with the pale bike, with details


@dataclass(frozen=True, slots=True)
class BikeView:
    """A drawn view: its scene, its scale (the n of 1 : n; None where nothing could be drawn), and its letters.

    `letters` gives, for each dimension that is drawn, the letter that leads from the drawing to its row in a table.
    """

    scene: Scene
    scale: int | None
    letters: Mapping[str, str]

    @property
    def scale_text(self) -> str:
        """The scale as a title block states it, empty for an empty view."""
        return "" if self.scale is None else scale_text(self.scale)


def bike_view(
    before: Mapping[str, FarPoint],
    after: Mapping[str, FarPoint],
    *,
    width_mm: float = 180.0,
    height_mm: float = 135.0,
    text_mm: float = 2.5,
    facts: BikeFacts = NO_FACTS,
    changes: bool = True,
    style: NumberStyle = METRIC,
    words: DrawingWords = ENGLISH_DRAWING,
) -> BikeView:
    """Draw the bike from the side at the largest standard scale that fits.

    Parameters
    ----------
    before, after
        Named points (x forward, y up, z to the rider's right) [mm], origin at the bottom bracket; any may be missing.
        Without any point after, the position before is drawn as the only one.
    width_mm, height_mm
        Room on paper; the scene takes the whole width and as much of the height as it needs.
    text_mm
        Size of the labels on paper [mm].
    facts
        What is known of the bike beside its points: it shapes what is only schematic.
    changes
        Whether each figure tells by how much it changed; a narrow drawing is clearer without.
    style
        Unit and decimal mark of the figures.
    words
        Words on the drawing.

    Examples
    --------
    >>> view = bike_view({}, {"bottom_bracket": (0, 0, 0), "saddle_datum": (-180, 720, 0)})
    >>> view.scale_text, view.letters
    ('1 : 10', {'saddle_height': 'A'})
    >>> bike_view({}, {}).scale is None
    True
    """
    subject = Subject.of(before, after, facts)
    if len(subject.new) < 2:
        return BikeView(_empty_scene(width_mm, text_mm, words), None, {})
    paper = Paper(width_mm - 2 * EDGE_MM, height_mm - 2 * EDGE_MM, text_mm, style, words, changes)
    drawing = largest_that_fits(
        lambda scale: _drawn(subject, scale, paper),
        _spread([*subject.old.values(), *subject.new.values()]),
        paper.width_mm,
        paper.height_mm,
    )
    if drawing is None:
        return BikeView(_empty_scene(width_mm, text_mm, words), None, {})
    description = "; ".join(sorted(drawing.notes))
    scene = framed(drawing.board, width_mm, f"{words.side_title}, {scale_text(drawing.scale)}", description)
    return BikeView(scene, drawing.scale, drawing.letters)


def _drawn(subject: Subject, scale: int, paper: Paper) -> BikeDrawing:
    """The drawing as rich as it fits at this scale: a larger scale goes before the pale bike and before details."""
    for whole, detailed in RICHNESS:
        drawing = BikeDrawing(subject, scale, paper, whole=whole, detailed=detailed)
        if drawing.bounds.width <= paper.width_mm and drawing.bounds.height <= paper.height_mm:
            break
    return drawing


def _spread(points: Sequence[Point]) -> Box:
    return around(Box(x, y, x, y) for x, y in points)


def framed(board: Board, width_mm: float, title: str, description: str) -> Scene:
    """What is on the board as a scene of that width, in its middle, as high as it needs."""
    bounds = board.bounds
    dx = (width_mm - bounds.width) / 2 - bounds.left
    items = shifted(board.items, dx, EDGE_MM - bounds.bottom)
    return Scene(width_mm, bounds.height + 2 * EDGE_MM, title, description, items)


def _empty_scene(width_mm: float, text_mm: float, words: DrawingWords) -> Scene:
    height = 6 * text_mm
    text = Text((width_mm / 2, height / 2), words.nothing_measured, text_mm, "note", "middle")
    return Scene(width_mm, height, words.side_title, words.nothing_measured, (text,))
