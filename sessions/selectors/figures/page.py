"""Everything that the page of figures shows, from sessions as plain values."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from intake.models import SnapshotMoment
from sessions.figures.shares import FEW, Share
from sessions.figures.tables import (
    NOT_KEPT,
    Accuracy,
    MonthKept,
    VerdictTable,
    accuracy,
    all_kept,
    compared,
    lighter_verdicts,
    months_kept,
    put_right_rows,
    verdict_table,
)
from sessions.figures.values import HeldSession, Moment
from sessions.selectors.figures.words import PUT_RIGHT, VERDICTS, moves_words, pairs_words
from sessions.sheets.forecast_pairs import forecast_pairs
from sessions.sheets.scene import Scene
from sessions.sheets.verdict_moves import verdict_moves

DRAWN = 60  # More strokes than this would melt into one another.


@dataclass(frozen=True)
class VerdictRow:
    """One verdict with its sessions at each moment."""

    verdict: str
    word: str
    counts: tuple[int, ...]


@dataclass(frozen=True)
class MoveRow:
    """Sessions that went from one verdict to another between two moments."""

    moments: str
    then: str
    now: str
    sessions: int


@dataclass(frozen=True)
class PairRow:
    """One session's forecast of the day beside its actual minutes."""

    day: date
    mean_min: float
    low_min: int
    high_min: int
    actual_min: int
    within: bool


@dataclass(frozen=True)
class MonthRow:
    """One month's hands-on minutes."""

    month: date
    sessions: int
    planned_min: int
    kept_min: int
    share_pct: float


@dataclass(frozen=True)
class Figures:
    """The figures of the chosen sessions."""

    sessions: Sequence[HeldSession]

    @property
    def is_few(self) -> bool:
        """Return whether so few sessions say next to nothing by themselves."""
        return len(self.sessions) < FEW

    @property
    def moments(self) -> list[str]:
        """Return the names of the moments, in order of time."""
        return [str(moment.label) for moment in SnapshotMoment]

    @cached_property
    def verdicts(self) -> VerdictTable:
        """Return sessions by verdict at each moment."""
        return verdict_table(self.sessions)

    @cached_property
    def verdict_rows(self) -> list[VerdictRow]:
        """Return one row a verdict; the last one, of what was not kept, only where there is any."""
        counts = self.verdicts.counts
        rows = [
            VerdictRow(key, str(word), tuple(counts[moment][key] for moment in Moment))
            for key, word in VERDICTS.items()
        ]
        return [row for row in rows if row.verdict != NOT_KEPT or any(row.counts)]

    @cached_property
    def move_rows(self) -> list[MoveRow]:
        """Return every change of verdict, the most frequent first."""
        names = {moment.value: str(moment.label) for moment in SnapshotMoment}
        later = dict(zip(list(Moment), list(Moment)[1:], strict=False))
        moved = [each for each in self.verdicts.moves.items() if each[0][1] != each[0][2]]
        return [
            MoveRow(f"{names[first]} → {names[later[first]]}", str(VERDICTS[then]), str(VERDICTS[now]), sessions)
            for (first, then, now), sessions in sorted(moved, key=lambda each: (-each[1], each[0]))
        ]

    @cached_property
    def lighter(self) -> Share:
        """Return how many sessions had a lighter verdict on the day than at booking."""
        return lighter_verdicts(self.sessions)

    @property
    def lighter_interval_pct(self) -> tuple[int, int]:
        """Return between which shares the true one probably lies, in percent."""
        return _percents(self.lighter)

    @property
    def within_interval_pct(self) -> tuple[int, int]:
        """Return between which shares of sessions within the band the true one probably lies, in percent."""
        return _percents(self.accuracy.within)

    @cached_property
    def accuracy(self) -> Accuracy:
        """Return forecasts beside actual minutes."""
        return accuracy(self.sessions)

    @property
    def pair_rows(self) -> list[PairRow]:
        """Return the newest sessions that have both, as many as a drawing can hold."""
        return [
            PairRow(each.day, shape.mean_min, shape.low_min, shape.high_min, actual, shape.holds(actual))
            for each, shape, actual in compared(self.sessions)[-DRAWN:]
        ]

    @cached_property
    def months(self) -> tuple[MonthKept, ...]:
        """Return hands-on minutes kept, month by month, the oldest first."""
        return months_kept(self.sessions)

    @property
    def month_rows(self) -> list[MonthRow]:
        """Return the months, the newest first."""
        return [
            MonthRow(each.month, each.sessions, each.planned_min, each.kept_min, 100 * each.share)
            for each in reversed(self.months)
        ]

    @property
    def kept_pct(self) -> float | None:
        """Return the share of hands-on minutes kept over all months, in percent."""
        share = all_kept(self.months)
        return None if share is None else 100 * share

    @property
    def put_right(self) -> list[tuple[str, int, int]]:
        """Return who put findings right: words, findings, sessions."""
        return [(str(PUT_RIGHT[row.by]), row.findings, row.sessions) for row in put_right_rows(self.sessions)]

    def moves_scene(self) -> Scene:
        """Draw how verdicts moved."""
        return verdict_moves(self.verdicts, words=moves_words())

    def pairs_scene(self) -> Scene:
        """Draw forecasts beside actual minutes."""
        pairs = [(shape, actual) for _, shape, actual in compared(self.sessions)[-DRAWN:]]
        return forecast_pairs(pairs, words=pairs_words())


def _percents(share: Share) -> tuple[int, int]:
    """Return the interval in whole percent, rounded outwards.

    >>> _percents(Share(9, 10))
    (59, 99)
    """
    low, high = share.interval
    return math.floor(100 * low), math.ceil(100 * high)
