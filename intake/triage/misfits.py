"""Answers that do not fit: what became of each, in words, and never as an error that stops a triage."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from intake.catalogue.schema import MEASURED, AnswerOption, Check
from intake.triage.answers import Answer, TriageInput
from intake.triage.beliefs import measured_faults
from intake.triage.conditions import known_answer
from intake.triage.findings import SURE, Case


class MisfitKind(StrEnum):
    """Why an answer does not count as it stands."""

    RETIRED = "retired"
    NOT_ASKED = "not_asked"
    OTHER_THAN_BIKE = "other_than_bike"
    UNREADABLE = "unreadable"
    LENGTHS_DIFFER = "lengths_differ"


@dataclass(frozen=True, slots=True)
class Misfit:
    """An answer that does not count as it stands: the key of its check, why, and a sentence that names it."""

    check: str
    kind: MisfitKind
    text: str


def misfits(given: TriageInput, cases: tuple[Case, ...]) -> tuple[Misfit, ...]:
    """Return what does not fit among the answers, in the order of the catalogue and then of what it no longer holds.

    - *retired*: the catalogue holds no such check (any more);
    - *not asked*: another answer, or the bike, leaves no room for it;
    - *other than the bike*: what is recorded of the bike says otherwise, and the record counts;
    - *unreadable*: the option or a length is none that the check takes, and it counts as far as it fits;
    - *lengths differ*: the chosen option and the measured lengths do not go together, and the lengths count.
    """
    held = {check.key: check for check in given.catalogue.checks}
    asked = {case.check.key: case for case in cases if case.asked}
    found = [_of_check(check, given, asked.get(check.key)) for check in held.values() if check.key in given.answers]
    gone = [_retired(key) for key in given.answers if key not in held]
    return tuple(each for each in [*found, *gone] if each is not None)


def _of_check(check: Check, given: TriageInput, case: Case | None) -> Misfit | None:
    return next(_reasons(check, given, given.answers[check.key], case), None)


def _reasons(check: Check, given: TriageInput, answer: Answer, case: Case | None) -> Iterator[Misfit]:
    if case is None:
        text = f"“{check.title}” was answered, but other answers or the bike leave no room for it; it does not count."
        yield Misfit(check.key, MisfitKind.NOT_ASKED, text)
        return
    known = known_answer(check, given.bike)
    if known is not None:
        if answer.option not in {"", known.option}:
            yield _other_than_bike(check, known)
        return
    if not case.belief.readable:
        text = f"“{check.title}”: the stored answer is none that this question takes now; it counts as far as it fits."
        yield Misfit(check.key, MisfitKind.UNREADABLE, text)
    option = next((each for each in check.options if each.key == answer.option), None)
    if option is not None and option.key != MEASURED and _differ(check, answer, option):
        text = f"“{check.title}”: “{option.label}” and the measured lengths do not go together; the lengths count."
        yield Misfit(check.key, MisfitKind.LENGTHS_DIFFER, text)


def _retired(key: str) -> Misfit:
    return Misfit(key, MisfitKind.RETIRED, f"“{key}” is not among the questions any more; its answer does not count.")


def _other_than_bike(check: Check, known: Answer) -> Misfit:
    recorded = next(each.label for each in check.options if each.key == known.option)
    text = f"“{check.title}”: the bike's record says “{recorded}”, the answer says otherwise; the record counts."
    return Misfit(check.key, MisfitKind.OTHER_THAN_BIKE, text)


def _differ(check: Check, answer: Answer, option: AnswerOption) -> bool:
    """Say whether lengths rule out what the option is sure of, or show a fault that it rules out."""
    chances = {fault.key: option.faults.get(fault.key, 0.0) for fault in check.faults}
    return any(
        chances[fault] == 0 if shown else chances[fault] >= SURE
        for fault, shown in measured_faults(check, answer).items()
    )
