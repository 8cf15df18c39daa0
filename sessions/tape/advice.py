"""What to tell the person at the bench about readings that do not agree, and about what was assumed."""

from __future__ import annotations

from collections.abc import Sequence

from sessions.geometry.limits import number_words
from sessions.tape.quality import ReadingQuality
from sessions.tape.readings import Reading
from sessions.tape.solve import Solution


def disagreement(solution: Solution, keys: Sequence[str], *, set_aside: bool = False) -> str:
    """Say which readings to take again, and by how much they disagree.

    Parameters
    ----------
    solution : Solution
        The adjustment in which they disagree.
    keys : sequence of str
        One reading, or several where the others cannot tell which of them it is.
    set_aside : bool
        Whether they are left out until they are taken again.
    """
    rows = [each for each in solution.quality if each.reading.key in keys]
    names = list(dict.fromkeys(each.reading.name for each in rows))
    size = _size(rows)
    if len(names) == 1:
        ending = " Nothing else is worked out from it until then." if set_aside else ""
        return f"{names[0]} is off by about {size} against the other readings: take it again first.{ending}"
    ending = " Nothing else is worked out from them until then." if set_aside else ""
    return f"These readings contradict each other by about {size}: {'; '.join(names)}. Take them again.{ending}"


def assumption(reading: Reading) -> str:
    """Say what was assumed for want of a reading."""
    return (
        f"{reading.name}: assumed to within about {number_words(reading.sigma, 'mm')}, since only the width was read."
    )


def _size(rows: Sequence[ReadingQuality]) -> str:
    off = [(abs(each.residual if each.blunder is None else each.blunder), each.reading.unit) for each in rows]
    lengths = [size for size, unit in off if unit == "mm"]
    if lengths:
        return number_words(round(min(lengths)), "mm")
    return number_words(round(min(size for size, _ in off), 1), "deg")
