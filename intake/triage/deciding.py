"""The few open questions whose answers decide about a session, and how much they are worth together."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import product

import numpy as np

from intake.triage.answers import Slot
from intake.triage.asking import Question, good_rows
from intake.triage.engine import Triage
from intake.triage.forecast import nothing_lost
from intake.triage.joint import Block, Joint
from intake.triage.lognormal import Distribution
from intake.triage.phrases import percent
from intake.triage.sums import within

MOST_QUESTIONS = 3
WORTH_ASKING = 0.005


@dataclass(frozen=True, slots=True)
class Deciding:
    """The questions that decide, best first, none where nothing that is open does.

    Attributes
    ----------
    questions : tuple of Question
        At most as many as were asked for.
    right_now : float
        Chance that the better decision (hold the session as it stands, or not) is the right one, with what is known, ½ to 1.
    right_then : float
        That chance on average once these questions are answered, exactly, over all their answers together.
    text : str
        What this means, in a sentence for the desk.
    """

    questions: tuple[Question, ...]
    right_now: float
    right_then: float
    text: str

    @property
    def decides(self) -> bool:
        """Whether asking is worth the rider's time at all."""
        return bool(self.questions)

    @property
    def gain(self) -> float:
        """Rise of the chance of a right decision, 0 to ½."""
        return self.right_then - self.right_now


def deciding(triage: Triage, limit: int = MOST_QUESTIONS) -> Deciding:
    """Return the smallest set of open questions that decides, up to ``limit``.

    Questions are taken one by one, each the one that raises the chance of a right decision most together with those taken before;
    where none does by itself, the one that tells most. What adds less than half a percent at the end is left away again.
    """
    worth = _Worth(triage.joint, good_rows(triage.joint, triage.slot), triage.slot)
    taken: list[Question] = []
    reached = [worth.right(())]
    left = list(triage.questions)
    while left and len(taken) < limit:
        right = {each.check.key: worth.right([*(one.check.key for one in taken), each.check.key]) for each in left}
        best = max(left, key=lambda each: round(right[each.check.key], 9))
        left.remove(best)
        taken.append(best)
        reached.append(right[best.check.key])
    enough = next(count for count, each in enumerate(reached) if each >= reached[-1] - WORTH_ASKING)
    questions = tuple(taken[:enough])
    return Deciding(questions, reached[0], reached[enough], _text(len(questions), reached[0], reached[enough]))


@dataclass(frozen=True, slots=True)
class _Worth:
    joint: Joint
    rows: Sequence[Distribution]
    slot: Slot

    def right(self, keys: Collection[str]) -> float:
        """Return the chance of a right decision once these checks are answered: Σ P(answers) · max(g, 1 − g)."""
        nothing = nothing_lost(self.slot.slack_min + 1)[None]
        others, split = nothing, []
        for block, rows in zip(self.joint.blocks, self.rows, strict=True):
            if any(key in block.ways for key in keys):
                split.append(_answered(block, rows, keys))
            else:
                others = within(others, block.law @ rows)
        right = 0.0
        for answers in product(*split):
            share = float(
                self.joint.exposed @ reduce(np.multiply, (one for one, _ in answers), np.ones(len(self.joint.exposed)))
            )
            heads = reduce(within, (head for _, head in answers), others)
            good = float((self.joint.exposed @ np.broadcast_to(heads, (len(self.joint.exposed), heads.shape[1]))).sum())
            right += max(good, share - good)
        return right


def _answered(block: Block, rows: Distribution, keys: Collection[str]) -> list[tuple[Distribution, Distribution]]:
    """Return for each way in which these checks of a block can turn out its probability and the chances of its minutes."""
    turned = [block.turned[key] for key in keys if key in block.ways]
    _, told = np.unique(np.stack(turned), axis=1, return_inverse=True)
    return [
        (block.law[:, told == one].sum(axis=1), block.law[:, told == one] @ rows[told == one])
        for one in range(int(told.max()) + 1)
    ]


def _text(count: int, now: float, then: float) -> str:
    if not count:
        return f"No open question decides: with what is known, the better decision is right in {percent(now)} of such sessions."
    many = f"These {count} questions decide" if count > 1 else "This question decides"
    return f"{many}: the better decision is right in {percent(now)} of such sessions now, and in {percent(then)} with the answers."
