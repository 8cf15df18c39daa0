"""Sums of bench minutes over everything that can be there at once: on the whole grid, or exactly up to the slack alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

import numpy as np

from intake.catalogue.schema import BenchMinutes
from intake.triage.findings import Finding
from intake.triage.forecast import nothing_lost
from intake.triage.joint import Block, Joint
from intake.triage.lognormal import Distribution, discretised

Costs = Mapping[str, BenchMinutes]
Terms = dict[tuple[BenchMinutes, ...], Distribution]


def costs(findings: Iterable[Finding]) -> dict[str, BenchMinutes]:
    """Return the minutes of those of these findings that cost any in the slot."""
    return {each.key: each.minutes for each in findings if each.minutes is not None and each.consequence.costs}


def grid_sum(joint: Joint, spent: Costs, cells: int) -> Distribution:
    """Return the distribution of all minutes on a grid, the last cell with all beyond.

    Parameters
    ----------
    joint : Joint
    spent : mapping of finding key to BenchMinutes
        What each fault costs if it is there; one that is missing costs nothing.
    cells : int
        Length of the grid.

    Notes
    -----
    Σₑ P(e) ∗_b D_b(e) over combinations of exposures e and blocks b, where D_b(e) is the mixture over the block's outcomes of the
    sum of their minutes. Outcomes that cost the same are put together first.
    """
    plain = nothing_lost(cells)[None]
    exposed: Distribution | None = None
    for block in joint.blocks:
        terms = _terms(block, spent)
        if not terms.keys() - {()}:
            continue
        mixed = _mixed(terms, cells)
        if block.exposed:
            exposed = mixed if exposed is None else _rows_summed(exposed, mixed)
        else:
            plain = _rows_summed(plain, mixed)
    if exposed is not None:
        plain = _rows_summed(plain, (joint.exposed @ exposed)[None])
    summed: Distribution = plain[0]
    return summed


def _terms(block: Block, spent: Costs) -> Terms:
    """Return what the outcomes of a block cost, as tuples of minutes, with their probability in each combination of exposures."""
    costly = [place for place, key in enumerate(block.keys) if key in spent]
    there = block.there[costly]
    if block.spared:
        there = there & ~block.moot(spent.keys())[costly]
    terms: Terms = {}
    codes, first, inverse = np.unique((1 << np.arange(len(costly))) @ there, return_index=True, return_inverse=True)
    law = np.zeros((len(block.law), len(codes)))
    np.add.at(law.T, inverse, block.law.T)
    for place, outcome in enumerate(first):
        paid = tuple(spent[block.keys[costly[row]]] for row in np.flatnonzero(there[:, outcome]))
        terms[paid] = terms[paid] + law[:, place] if paid in terms else law[:, place]
    return terms


def _mixed(terms: Terms, cells: int) -> Distribution:
    mixed = np.zeros((len(next(iter(terms.values()))), cells))
    following: dict[BenchMinutes, Terms] = {}
    for paid, weights in terms.items():
        if paid:
            following.setdefault(paid[0], {})[paid[1:]] = weights
        else:
            mixed[:, 0] += weights
    for minutes, rest in following.items():
        pmf = discretised(minutes, cells)
        if rest.keys() == {()}:
            mixed += rest[()][:, None] * pmf
        else:
            mixed += _rows_summed(_mixed(rest, cells), pmf[None])
    return mixed


def _rows_summed(ones: Distribution, others: Distribution) -> Distribution:
    """Return sums row by row; a single row goes with every row of the other side."""
    count, cells = max(len(ones), len(others)), ones.shape[1]
    summed = np.empty((count, cells))
    for row in range(count):
        wide = np.convolve(ones[row % len(ones)], others[row % len(others)])
        summed[row] = wide[:cells]
        summed[row, -1] += wide[cells:].sum()
    return summed


def heads(block: Block, spent: Costs, length: int, cells: int, barred: Collection[str] = ()) -> Distribution | None:
    """Return for each outcome of a block the chances of 0, 1, … minutes, up to a length; None where none costs anything.

    Parameters
    ----------
    block : Block
    spent : mapping of finding key to BenchMinutes
    length : int
        How many cells are needed.
    cells : int
        Length of the whole grid, on which the minutes are laid out.
    barred : collection of finding keys
        Outcomes with one of these are left without any chance.

    Returns
    -------
    array of shape (outcomes, length) or None
    """
    rows: Distribution | None = None
    touched = np.zeros(block.there.shape[1], dtype=np.bool_)
    moot = block.moot(spent.keys()) if block.spared else None
    for place, key in enumerate(block.keys):
        if key not in spent and key not in barred:
            continue
        if rows is None:
            rows = np.zeros((block.there.shape[1], length))
            rows[:, 0] = 1.0
        there = block.there[place]
        if key in barred:
            rows[there] = 0.0
            continue
        if moot is not None:
            there = there & ~moot[place]
        pmf = discretised(spent[key], cells)[:length]
        again = there & touched
        if again.any():
            rows[again] = rows[again] @ shifted(pmf)
        fresh = there & ~touched
        rows[fresh] = rows[fresh, :1] * pmf
        touched |= there
    return rows


def shifted(pmf: Distribution) -> Distribution:
    """Return the matrix by which a row of chances is multiplied to add minutes with this distribution, within the same length.

    >>> shifted(np.array([0.5, 0.3, 0.2])).tolist()
    [[0.5, 0.3, 0.2], [0.0, 0.5, 0.3], [0.0, 0.0, 0.5]]
    """
    length = len(pmf)
    padded = np.concatenate([np.zeros(length - 1), pmf])
    return np.lib.stride_tricks.sliding_window_view(padded, length)[::-1]


def within(one: Distribution, other: Distribution) -> Distribution:
    """Return the sum of minutes row by row, up to the same length; a single row goes with every row of the other side."""
    if len(one) == 1 and len(other) == 1:
        return np.convolve(one[0], other[0])[None, : one.shape[1]]
    if len(one) == 1:
        one, other = other, one
    if len(other) == 1:
        summed: Distribution = one @ shifted(other[0])
        return summed
    return np.stack([np.convolve(*pair)[: one.shape[1]] for pair in zip(one, other, strict=True)])


def chance_within(joint: Joint, spent: Costs, slack_min: int, cells: int) -> float:
    """Return the probability that these minutes together stay within the slack."""
    plain, exposed = nothing_lost(slack_min + 1)[None], None
    for block in joint.blocks:
        rows = heads(block, spent, slack_min + 1, cells)
        if rows is None:
            continue
        mixed = block.law @ rows
        if block.exposed:
            exposed = mixed if exposed is None else within(exposed, mixed)
        else:
            plain = within(plain, mixed)
    if exposed is not None:
        plain = within(plain, (joint.exposed @ exposed)[None])
    return min(1.0, float(plain.sum()))
