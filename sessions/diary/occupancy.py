"""Time on the five-minute grid as rows of bits, where a question about many starts is one array operation."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sessions.diary.intervals import Interval
from sessions.diary.quanta import first_quantum_from, quantum_holding

Bits = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Window:
    """The quanta that an array's columns stand for: column *i* is quantum ``first + i``.

    Parameters
    ----------
    first : int
        The first quantum.
    size : int
        How many quanta.
    """

    first: int
    size: int

    @classmethod
    def around(cls, intervals: Sequence[Interval]) -> Window:
        """Return the least window that holds a set of time given in normal form."""
        if not intervals:
            return cls(0, 0)
        first = quantum_holding(intervals[0].start)
        return cls(first, first_quantum_from(intervals[-1].end) - first)

    def filled(self, intervals: Iterable[Interval]) -> Bits:
        """Return which quanta lie wholly inside a set of time given in normal form; shape (size,)."""
        edges = [(first_quantum_from(each.start), quantum_holding(each.end)) for each in intervals]
        return self._bits([edge for edge in edges if edge[0] < edge[1]])

    def touched(self, intervals: Iterable[Interval]) -> Bits:
        """Return which quanta any of the intervals, in any order, touches; shape (size,)."""
        return self._bits([(quantum_holding(each.start), first_quantum_from(each.end)) for each in intervals])

    def _bits(self, edges: list[tuple[int, int]]) -> Bits:
        columns = np.array(edges, dtype=np.int64).reshape(-1, 2) - self.first
        begins, ends = np.clip(columns, 0, self.size).T
        steps = np.bincount(begins, minlength=self.size + 1) - np.bincount(ends, minlength=self.size + 1)
        covered: Bits = np.cumsum(steps)[: self.size] > 0
        return covered


def clear_spans(busy: Bits, begins: Ints, length: int) -> Bits:
    """Tell which spans hold no busy quantum.

    Parameters
    ----------
    busy : array of bool, shape (resources, quanta)
    begins : array of int, shape (spans,)
        The column at which each span begins; every span must end within the array.
    length : int
        Length of every span [quanta].

    Returns
    -------
    array of bool, shape (resources, spans)
    """
    counts = np.zeros((busy.shape[0], busy.shape[1] + 1), dtype=np.int32)
    np.cumsum(busy, axis=1, out=counts[:, 1:])
    clear: Bits = counts[:, begins + length] == counts[:, begins]
    return clear
