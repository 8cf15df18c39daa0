"""The verdicts on a session, and what a reason for one is made of."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """What to do about a session, the gravest first."""

    DO_NOT_RIDE = "do_not_ride"
    FIX_FIRST = "fix_first"
    ASK_RIDER = "ask_rider"
    BRING_PARTS = "bring_parts"
    CLEAR = "clear"

    @property
    def weight(self) -> int:
        """How grave it is: 4 for do not ride down to 0 for clear."""
        return len(Verdict) - 1 - list(Verdict).index(self)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a verdict holds.

    ``code`` names the rule, for tests and for icons; ``text`` is the sentence to show; ``findings`` and ``checks`` are the keys of
    what is behind it.
    """

    verdict: Verdict
    code: str
    text: str
    findings: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
