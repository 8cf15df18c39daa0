"""Forecasts beside what happened: a stroke for each session's 90 % band, a dot or a diamond for its actual minutes."""

import math
from collections.abc import Iterator, Sequence

from sessions.figures.values import ForecastShape
from sessions.sheets.figure_words import ENGLISH_PAIRS, PairsWords
from sessions.sheets.scene import Item, Line, Marker, Point, Scene, Text

LONGEST_AXIS_MIN = 240
STEP_MIN = 30
Pair = tuple[ForecastShape, int]


def forecast_pairs(
    pairs: Sequence[Pair],
    *,
    width_mm: float = 100.0,
    height_mm: float = 62.0,
    text_mm: float = 3.0,
    words: PairsWords = ENGLISH_PAIRS,
) -> Scene:
    """Draw each session's forecast and its actual minutes, the smallest forecast on the left.

    Minutes beyond four hours are drawn at the top edge.
    """
    ordered = sorted(pairs, key=lambda pair: (pair[0].mean_min, pair[0].high_min, pair[1]))
    plot = _Plot(ordered, width_mm, height_mm, text_mm)
    within = sum(shape.holds(actual) for shape, actual in ordered)
    spoken = words.description.format(total=len(ordered), within=within)
    items = (*plot.axis(words), *plot.sessions(), *plot.legend(words))
    return Scene(width_mm, height_mm, words.title, spoken, items)


class _Plot:
    def __init__(self, pairs: list[Pair], width_mm: float, height_mm: float, text_mm: float) -> None:
        self.pairs, self.text_mm, self.width_mm = pairs, text_mm, width_mm
        longest = max((max(shape.high_min, actual) for shape, actual in pairs), default=STEP_MIN)
        self.end_min = STEP_MIN * math.ceil(max(STEP_MIN, min(longest, LONGEST_AXIS_MIN)) / STEP_MIN)
        self.left, self.right = 3.0 * text_mm, width_mm - text_mm
        self.floor, self.top = 2.6 * text_mm, height_mm - 2.2 * text_mm

    def y(self, minutes: float) -> float:
        return self.floor + (self.top - self.floor) * min(minutes, self.end_min) / self.end_min

    def axis(self, words: PairsWords) -> Iterator[Item]:
        step = STEP_MIN * (2 if self.end_min > 4 * STEP_MIN else 1)
        for minutes in range(0, self.end_min + 1, STEP_MIN):
            y = self.y(minutes)
            yield Line((self.left, y), (self.right, y), "axis" if minutes == 0 else "extension")
            if minutes % step == 0:
                yield Text(
                    (self.left - 0.6 * self.text_mm, y - 0.36 * self.text_mm), str(minutes), self.text_mm, "note", "end"
                )
        yield Text((0.2 * self.text_mm, self.top + 1.1 * self.text_mm), words.axis, self.text_mm, "note")

    def sessions(self) -> Iterator[Item]:
        pace = (self.right - self.left) / max(1, len(self.pairs))
        tick = min(0.9, 0.35 * pace)
        for number, (shape, actual) in enumerate(self.pairs):
            x = self.left + (number + 0.5) * pace
            yield Line((x, self.y(shape.low_min)), (x, self.y(shape.high_min)), "frame")
            yield Line((x - tick, self.y(shape.mean_min)), (x + tick, self.y(shape.mean_min)), "axis")
            at = (x, self.y(actual))
            yield _inside(at) if shape.holds(actual) else _outside(at)

    def legend(self, words: PairsWords) -> Iterator[Item]:
        y, third = 0.7 * self.text_mm, self.width_mm / 3
        x = 0.4 * self.text_mm
        yield Line((x, y - 0.5 * self.text_mm), (x, y + 0.8 * self.text_mm), "frame")
        yield Line((x - 0.9, y + 0.2 * self.text_mm), (x + 0.9, y + 0.2 * self.text_mm), "axis")
        yield _inside((third + 1.0, y + 0.2 * self.text_mm))
        yield _outside((2 * third + 1.0, y + 0.2 * self.text_mm))
        for number, word in enumerate((words.band, words.inside, words.outside)):
            yield Text((number * third + 1.1 * self.text_mm, y - 0.15 * self.text_mm), word, self.text_mm, "note")


def _inside(at: Point) -> Marker:
    return Marker(at, "dot", 1.1, "bar")


def _outside(at: Point) -> Marker:
    return Marker(at, "diamond", 1.9, "balloon")
