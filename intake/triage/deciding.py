"""The few open questions whose answers decide about a session, and how much they are worth together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from itertools import product

import numpy as np

from intake.triage.answers import Slot
from intake.triage.asking import Question, good_head, good_outcomes, nothing, within_slack
from intake.triage.engine import Triage
from intake.triage.findings import Case
from intake.triage.phrases import percent

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
    now = _right(triage.cases, (), triage.slot)
    taken: list[Question] = []
    reached = [now]
    for _ in range(limit):
        left = [each for each in triage.questions if each not in taken]
        if not left:
            break
        worth = {each.check.key: _right(triage.cases, (*taken, each), triage.slot) for each in left}
        best = max(left, key=lambda each: round(worth[each.check.key], 9))
        taken.append(best)
        reached.append(worth[best.check.key])
    enough = next(count for count, each in enumerate(reached) if each >= reached[-1] - WORTH_ASKING)
    return Deciding(tuple(taken[:enough]), now, reached[enough], _text(tuple(taken[:enough]), now, reached[enough]))


def _right(cases: tuple[Case, ...], asked: tuple[Question, ...], slot: Slot) -> float:
    keys = {each.check.key for each in asked}
    others = reduce(
        within_slack, (good_head(case, slot) for case in cases if case.check.key not in keys), nothing(slot)
    )
    ways = [good_outcomes(case, slot) for case in cases if case.check.key in keys]
    right = 0.0
    for combination in product(*ways):
        share = float(np.prod([one for one, _ in combination]))
        good = float(reduce(within_slack, (head for _, head in combination), others).sum())
        right += share * max(good, 1 - good)
    return right


def _text(questions: tuple[Question, ...], now: float, then: float) -> str:
    if not questions:
        return f"No open question decides: with what is known, the better decision is right in {percent(now)} of such sessions."
    many = f"These {len(questions)} questions decide" if len(questions) > 1 else "This question decides"
    return f"{many}: the better decision is right in {percent(now)} of such sessions now, and in {percent(then)} with the answers."
