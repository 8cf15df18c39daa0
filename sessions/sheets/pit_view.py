"""Where outcomes fell in their forecasts: ten bars that stand level where forecasts mean what they say."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sessions.sheets.scene import Item, Line, Polyline, Scene, Text

LEVEL = 0.1
TICK_MM = 1.2
GAP_MM = 0.5


@dataclass(frozen=True, slots=True)
class PitWords:
    """Words on the picture; `{…}` are filled in."""

    title: str = "Where the actual minutes fell in their forecasts"
    description: str = (
        "{sessions} sessions by tenths of their forecasts, from fewer minutes than expected to more: {shares} per cent. "
        "Level would be 10 each."
    )
    level: str = "level"
    few: str = "fewer minutes than expected"
    many: str = "more than expected"


ENGLISH_PIT = PitWords()


def pit_view(
    shares: Sequence[float],
    sessions: int,
    *,
    width_mm: float = 110.0,
    height_mm: float = 52.0,
    text_mm: float = 3.0,
    words: PitWords = ENGLISH_PIT,
) -> Scene:
    """Draw the histogram of ``shares`` (adding to 1) with the level line and the band that chance alone leaves around it.

    Notes
    -----
    The band is ±1.96·√(p(1 − p)/n) about a tenth: what 19 of 20 bars of a right forecast would stay within.
    """
    plot = _Plot(shares, sessions, width_mm, height_mm, text_mm)
    told = ", ".join(f"{100 * share:.0f}" for share in shares)
    spoken = words.description.format(sessions=sessions, shares=told)
    return Scene(width_mm, height_mm, words.title, spoken, (*plot.bars(), *plot.level(words), *plot.axis(words)))


class _Plot:
    def __init__(
        self, shares: Sequence[float], sessions: int, width_mm: float, height_mm: float, text_mm: float
    ) -> None:
        self.shares, self.text_mm = shares, text_mm
        self.chance = 1.96 * math.sqrt(LEVEL * (1 - LEVEL) / sessions) if sessions else LEVEL
        self.highest = max(*shares, LEVEL + self.chance, 2 * LEVEL)
        self.left, self.right = 4.2 * text_mm, width_mm - 4.6 * text_mm
        self.floor, self.top = 2.6 * text_mm, height_mm - text_mm

    def x(self, tenth: float) -> float:
        return self.left + (self.right - self.left) * tenth / len(self.shares)

    def y(self, share: float) -> float:
        return self.floor + (self.top - self.floor) * share / self.highest

    def bars(self) -> Iterator[Item]:
        for number, share in enumerate(self.shares):
            left, right, top = self.x(number) + GAP_MM, self.x(number + 1) - GAP_MM, self.y(share)
            corners = ((left, self.floor), (right, self.floor), (right, top), (left, top))
            yield Polyline(corners, "bar", closed=True, filled=True)

    def level(self, words: PitWords) -> Iterator[Item]:
        y = self.y(LEVEL)
        yield Line((self.left, y), (self.right, y), "slack")
        yield Text((self.right + 0.4 * self.text_mm, y - 0.35 * self.text_mm), words.level, self.text_mm, "slack")
        for limit in (max(0.0, LEVEL - self.chance), LEVEL + self.chance):
            yield Line((self.left, self.y(limit)), (self.right, self.y(limit)), "over")

    def axis(self, words: PitWords) -> Iterator[Item]:
        yield Line((self.left, self.floor), (self.right, self.floor), "axis")
        for number in range(len(self.shares) + 1):
            yield Line((self.x(number), self.floor), (self.x(number), self.floor - TICK_MM), "axis")
        for percent in range(0, round(100 * self.highest) + 1, 10):
            at = (self.left - 0.6 * self.text_mm, self.y(percent / 100) - 0.35 * self.text_mm)
            yield Text(at, f"{percent} %", self.text_mm, "note", "end")
        yield Text((self.left, 0.4 * self.text_mm), words.few, self.text_mm, "note")
        yield Text((self.right, 0.4 * self.text_mm), words.many, self.text_mm, "note", "end")
