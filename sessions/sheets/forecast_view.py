"""The forecast of bench minutes as a picture: how likely each length is, and how much of it the slack holds."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from intake.triage.phrases import percent
from sessions.sheets.scene import Item, Line, Point, Polyline, Role, Scene, Text
from sessions.sheets.words import ENGLISH_FORECAST, ForecastWords

BIN_MIN = 5
TAIL = 0.005  # what is left beyond the axis is drawn as its last bar
LONGEST_AXIS_MIN = 240
HATCH_MM = 1.1
BAR_GAP_MM = 0.15
LEAST_BAR_MM = 0.05
TEXT_ROOM = 2.4  # heights of a text line under the axis


@dataclass(frozen=True, slots=True)
class Bin:
    """Probability of more than `after_min` and up to `to_min` bench minutes; the last one holds all that is longer."""

    after_min: int
    to_min: int
    chance: float
    beyond: bool

    @property
    def height(self) -> float:
        """Chance per full bin, so that one cut short by the slack is not drawn too low."""
        return self.chance * BIN_MIN / (self.to_min - self.after_min)


def binned(pmf: Sequence[float], slack_min: int) -> list[Bin]:
    """Sum the one-minute cells into five-minute bins; a bin is cut in two where the slack ends inside it.

    Parameters
    ----------
    pmf
        Probability of 0, 1, 2 … bench minutes; the last cell holds all that is longer.
    slack_min
        Slack of the session [min]: exactly that many minutes still fit.

    Returns
    -------
    list of Bin
        The first one, from −5 to 0, is the chance that nothing has to be done.

    Examples
    --------
    >>> [(b.after_min, b.to_min, b.beyond) for b in binned([0.5] + [0.0] * 9 + [0.5], 7)][:4]
    [(-5, 0, False), (0, 5, False), (5, 7, False), (7, 10, True)]
    """
    end = _axis_end(pmf, slack_min)
    cuts = sorted({*range(-BIN_MIN, end + 1, BIN_MIN), slack_min})
    return [
        Bin(after, to, math.fsum(pmf[max(0, after + 1) : None if to == end else to + 1]), beyond=after >= slack_min)
        for after, to in pairwise(cuts)
    ]


def _axis_end(pmf: Sequence[float], slack_min: int) -> int:
    """Minutes on the axis: all but a sliver of the distribution, and the slack with some room, in half hours."""
    total = math.fsum(pmf)
    needed = next((minute for minute, so_far in enumerate(accumulate(pmf)) if so_far >= total - TAIL), 0)
    wanted = max(min(needed, LONGEST_AXIS_MIN), slack_min + 10)
    return 30 * math.ceil(wanted / 30)


def forecast_view(
    pmf: Sequence[float],
    slack_min: int,
    *,
    width_mm: float = 120.0,
    height_mm: float = 42.0,
    text_mm: float = 2.8,
    words: ForecastWords = ENGLISH_FORECAST,
) -> Scene:
    """Draw the distribution of bench minutes against the slack.

    Parameters
    ----------
    pmf
        Probability of 0, 1, 2 … bench minutes on a one-minute grid; a numpy array will do.
    slack_min
        Slack of the session [min].
    width_mm, height_mm, text_mm
        Size of the picture and of its figures [mm].
    words
        Words on the picture.
    """
    chances = [min(1.0, max(0.0, float(chance))) if math.isfinite(chance) else 0.0 for chance in pmf]
    slack_min = max(0, slack_min)
    plot = _Plot(binned(chances, slack_min), width_mm, height_mm, text_mm)
    within = percent(math.fsum(chances[: slack_min + 1]))
    items = (*plot.bars(), *plot.axis(words), *plot.slack(slack_min, words))
    return Scene(width_mm, height_mm, words.title, words.description.format(minutes=slack_min, chance=within), items)


class _Plot:
    def __init__(self, bins: Sequence[Bin], width_mm: float, height_mm: float, text_mm: float) -> None:
        self.bins, self.text_mm = bins, text_mm
        self.end_min = bins[-1].to_min
        self.left, self.right = 1.5 * text_mm, width_mm - 1.5 * text_mm
        self.floor, self.top = TEXT_ROOM * text_mm + 2.0, height_mm - 1.8 * text_mm
        self.highest = max(each.height for each in bins) or 1.0

    def x(self, minute: float) -> float:
        return self.left + (self.right - self.left) * (minute + BIN_MIN) / (self.end_min + BIN_MIN)

    def bars(self) -> Iterator[Item]:
        for each in self.bins:
            rise = (self.top - self.floor) * each.height / self.highest
            if rise >= LEAST_BAR_MM:
                left, right = self.x(each.after_min) + BAR_GAP_MM, self.x(each.to_min) - BAR_GAP_MM
                yield from _bar(left, right, self.floor, self.floor + rise, beyond=each.beyond)

    def axis(self, words: ForecastWords) -> Iterator[Item]:
        """The axis is ticked like a tape: every five minutes, longer at fifteen, figures at thirty."""
        yield Line((self.left, self.floor), (self.right, self.floor), "axis")
        figure_step = 30 * max(1, math.ceil(self.end_min / 300))
        for minute in range(0, self.end_min + 1, BIN_MIN):
            tick = 2.0 if minute % 30 == 0 else 1.4 if minute % 15 == 0 else 0.8
            yield Line((self.x(minute), self.floor), (self.x(minute), self.floor - tick), "axis")
            if minute % figure_step == 0:
                at = (self.x(minute or -BIN_MIN / 2), self.floor - 2.2 - 0.8 * self.text_mm)
                yield Text(at, str(minute), self.text_mm, "note", "middle")
        middle = (self.left + self.right) / 2
        yield Text((middle, 0.35 * self.text_mm), words.axis, self.text_mm, "note", "middle")

    def slack(self, slack_min: int, words: ForecastWords) -> Iterator[Item]:
        x = self.x(slack_min)
        yield Line((x, self.floor - 2.0), (x, self.top + 0.6 * self.text_mm), "slack")
        late = x > (self.left + self.right) / 2
        at = (x + (-1.0 if late else 1.0), self.top + 0.4 * self.text_mm)
        yield Text(at, words.slack.format(minutes=slack_min), self.text_mm, "slack", "end" if late else "start")


def _bar(left: float, right: float, bottom: float, top: float, *, beyond: bool) -> Iterator[Item]:
    """A bar inside the slack is full, one beyond it is hatched: told apart without colour."""
    corners: tuple[Point, ...] = ((left, bottom), (right, bottom), (right, top), (left, top))
    role: Role = "over" if beyond else "bar"
    if not beyond:
        yield Polyline(corners, role, closed=True, filled=True)
        return
    yield from _hatch(left, right, bottom, top)
    yield Polyline(corners, role, closed=True)


def _hatch(left: float, right: float, bottom: float, top: float) -> Iterator[Line]:
    """Strokes at 45 degrees, cut to the bar, on one grid for all bars."""
    first = math.ceil((left + bottom) / HATCH_MM)
    last = math.floor((right + top) / HATCH_MM)
    for step in range(first, last + 1):
        total = step * HATCH_MM
        start = (max(left, total - top), min(top, total - left))
        end = (min(right, total - bottom), max(bottom, total - right))
        if end[0] - start[0] > 0.05:
            yield Line(start, end, "hatch")
