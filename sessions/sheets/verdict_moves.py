"""How verdicts moved between booking and the day: a lane for each verdict, a band for every move."""

from collections.abc import Iterator
from itertools import pairwise

from intake.triage.verdict import Verdict
from sessions.figures.tables import NOT_KEPT, VerdictTable
from sessions.figures.values import Moment
from sessions.sheets.figure_words import ENGLISH_MOVES, MovesWords
from sessions.sheets.scene import Item, Point, Polyline, Role, Scene, Text
from sessions.sheets.verdict_marks import verdict_mark

LANE_MM, ALL_MM, BOX_MM = 10.5, 8.0, (10.0, 5.6)
LEAST_BAND_MM = 0.25
BEND_STEPS = 16


def verdict_moves(
    table: VerdictTable, *, width_mm: float = 100.0, text_mm: float = 3.0, words: MovesWords = ENGLISH_MOVES
) -> Scene:
    """Draw how many sessions had each verdict at each moment, and how many went from one to another.

    A band is as wide as its share of all sessions, 8 mm being all of them. Verdicts are told apart by lane, mark and word.
    """
    lanes = [*(verdict.value for verdict in Verdict), *([NOT_KEPT] if _any_not_kept(table) else [])]
    plot = _Plot(table, lanes, width_mm, text_mm, words)
    items = (*plot.bands(), *plot.boxes(), *plot.lane_names(), *plot.moment_names())
    return Scene(width_mm, plot.height, words.title, words.description.format(story=_story(table, lanes, words)), items)


def _any_not_kept(table: VerdictTable) -> bool:
    return any(counts[NOT_KEPT] for counts in table.counts.values())


def _story(table: VerdictTable, lanes: list[str], words: MovesWords) -> str:
    parts = []
    for moment in Moment:
        counts = ", ".join(f"{words.verdicts[lane]} {table.counts[moment][lane]}" for lane in lanes)
        parts.append(words.moment.format(moment=words.moments[moment], counts=counts))
    return "; ".join(parts)


class _Plot:
    def __init__(
        self, table: VerdictTable, lanes: list[str], width_mm: float, text_mm: float, words: MovesWords
    ) -> None:
        self.table, self.lanes, self.text_mm, self.words = table, lanes, text_mm, words
        self.height = LANE_MM * len(lanes) + 2.6 * text_mm
        first, last = 11.0 * text_mm, width_mm - 3.4 * text_mm
        self.at_x = {moment: first + (last - first) * step / 2 for step, moment in enumerate(Moment)}

    def lane_y(self, lane: str) -> float:
        return self.height - 2.6 * self.text_mm - LANE_MM * (self.lanes.index(lane) + 0.5)

    def band_mm(self, count: int) -> float:
        return max(LEAST_BAND_MM, ALL_MM * count / max(1, self.table.total)) if count else 0.0

    def bands(self) -> Iterator[Item]:
        """From each box to each later one, in the order of the lanes at both ends, so that bands of one box lie side by side."""
        for first, second in pairwise(Moment):
            arrived = {
                lane: self.lane_y(lane) + self.band_mm(self.table.counts[second][lane]) / 2 for lane in self.lanes
            }
            for then in self.lanes:
                y = self.lane_y(then) + self.band_mm(self.table.counts[first][then]) / 2
                for now in self.lanes:
                    wide = self.band_mm(self.table.moves.get((first, then, now), 0))
                    if wide:
                        start = (self.at_x[first] + BOX_MM[0] / 2, y - wide / 2)
                        end = (self.at_x[second] - BOX_MM[0] / 2, arrived[now] - wide / 2)
                        yield Polyline(
                            (*_bend(start, end, wide / 2), *_bend(end, start, -wide / 2)), "schematic", True, True
                        )
                    y, arrived[now] = y - wide, arrived[now] - wide

    def boxes(self) -> Iterator[Item]:
        for moment in Moment:
            for lane in self.lanes:
                count = self.table.counts[moment][lane]
                x, y = self.at_x[moment], self.lane_y(lane)
                if count:
                    half_w, half_h = BOX_MM[0] / 2, max(BOX_MM[1], self.band_mm(count)) / 2
                    box = (
                        (x - half_w, y - half_h),
                        (x + half_w, y - half_h),
                        (x + half_w, y + half_h),
                        (x - half_w, y + half_h),
                    )
                    yield Polyline(box, "mask", closed=True, filled=True)
                    yield Polyline(box, "axis", closed=True)
                role: Role = "label" if count else "note"
                yield Text((x, y - 0.36 * self.text_mm), str(count), self.text_mm, role, "middle")

    def lane_names(self) -> Iterator[Item]:
        for lane in self.lanes:
            y = self.lane_y(lane)
            yield from verdict_mark(lane, (0.9 * self.text_mm, y), 1.3 * self.text_mm)
            yield Text((2.1 * self.text_mm, y - 0.36 * self.text_mm), self.words.verdicts[lane], self.text_mm, "label")

    def moment_names(self) -> Iterator[Item]:
        for moment, x in self.at_x.items():
            at = (x, self.height - 1.3 * self.text_mm)
            yield Text(at, self.words.moments[moment], 0.92 * self.text_mm, "note", "middle")


def _bend(start: Point, end: Point, offset: float) -> Iterator[Point]:
    """Points of an edge that leaves and arrives level, moved up by `offset`."""
    for step in range(BEND_STEPS + 1):
        part = step / BEND_STEPS
        eased = part * part * (3 - 2 * part)
        yield (start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * eased + offset)
