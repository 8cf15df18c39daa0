"""What became of a complaint after a fault beside it was put right."""

from __future__ import annotations

from enum import StrEnum

from intake.triage.errors import TriageError

MOST_SCORE = 10
LEAST_FALL = 2
LEAST_FALL_SHARE = 0.30


class Course(StrEnum):
    """How a complaint went."""

    GONE = "gone"
    EASED = "eased"
    UNCHANGED = "unchanged"
    WORSE = "worse"


class ScoreError(TriageError):
    """A score outside the scale, or nothing that could have gone."""

    def __init__(self, score: int) -> None:
        self.score = score
        super().__init__(
            f"A complaint is scored from 1 to {MOST_SCORE} before and from 0 to {MOST_SCORE} after; not {score}."
        )


def course(score_before: int, score_now: int) -> Course:
    """Return how a complaint went, from its scores on the 0–10 numeric rating scale before and after.

    It has eased when the score fell by at least 2 points or by 30 %: the change that patients call "much improved" (Farrar et al.
    2001, Pain 94:149–158, 2724 patients with lasting pain, none of them known to cycle). At 0 it is gone.

    Raises
    ------
    ScoreError
        Outside the scale, or where nothing hurt before.

    Examples
    --------
    >>> [course(6, now).value for now in (0, 4, 5, 6, 7)]
    ['gone', 'eased', 'unchanged', 'unchanged', 'worse']
    """
    if not 1 <= score_before <= MOST_SCORE:
        raise ScoreError(score_before)
    if not 0 <= score_now <= MOST_SCORE:
        raise ScoreError(score_now)
    fall = score_before - score_now
    if score_now == 0:
        return Course.GONE
    if fall >= LEAST_FALL or 100 * fall >= round(100 * LEAST_FALL_SHARE) * score_before:
        return Course.EASED
    return Course.WORSE if fall < 0 else Course.UNCHANGED


def went(score_before: int, score_now: int) -> bool:
    """Say whether a complaint has gone or clearly eased."""
    return course(score_before, score_now) in {Course.GONE, Course.EASED}
