"""In which order the pages of a check are asked: calm for the rider, and what matters most first."""

from __future__ import annotations

from collections.abc import Sequence

from intake.catalogue.schema import Catalogue, Check, Group
from intake.triage.asking import Question
from intake.triage.red_flags import ADVICE


def is_clinical(check: Check) -> bool:
    """Say whether signs that belong with a clinician can be reported in a check."""
    return any(fault.hazard in ADVICE for fault in check.faults)


def page_order(
    catalogue: Catalogue, asked: tuple[Check, ...], questions: tuple[Question, ...], answered: Sequence[str]
) -> tuple[Check, ...]:
    """Return the asked checks group by group, in each: the answered ones, then the open ones.

    The answered ones stand in the order in which they were answered (``answered``, keys, the first one first), so that one page
    back is always the page that came before. Of the open ones, signs for a clinician come first, then what other questions hang on,
    both in the catalogue's order, then the rest by what their answers are worth.
    """
    done = {key: place for place, key in enumerate(answered)}
    worth = {question.check.key: place for place, question in enumerate(questions)}
    gates = _gates(catalogue)
    groups = list(Group)
    by_catalogue = {check.key: place for place, check in enumerate(asked)}

    def rank(check: Check) -> tuple[int, int, int]:
        group = groups.index(check.group)
        if check.key in done:
            return group, 0, done[check.key]
        if is_clinical(check):
            return group, 1, by_catalogue[check.key]
        if check.key in gates:
            return group, 2, by_catalogue[check.key]
        return group, 3, worth.get(check.key, len(worth))

    return tuple(sorted(asked, key=rank))


def _gates(catalogue: Catalogue) -> frozenset[str]:
    """Return the checks on whose answers other checks hang."""
    subjects = (condition.subject.partition(".") for check in catalogue.checks for condition in check.conditions)
    return frozenset(name for source, _, name in subjects if source == "answer")
