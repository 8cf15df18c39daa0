"""Which checks apply to a bike: by its kind, by its facts and by earlier answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from intake.catalogue.schema import COULD_NOT, Catalogue, Check, Condition, Group
from intake.triage.answers import Answer, BikeFacts
from intake.triage.beliefs import measured_faults
from intake.triage.errors import ConditionCycleError, ConditionSubjectError


def applying_checks(catalogue: Catalogue, bike: BikeFacts, answers: Mapping[str, Answer]) -> tuple[Check, ...]:
    """Return the checks that apply, answered by a known fact or not, group by group and in the catalogue's order within.

    An unknown fact of the bike never keeps a check away. An answer counts for the conditions of other checks only while its own
    check applies, so that what no longer fits the bike decides nothing.

    Raises
    ------
    ConditionCycleError, ConditionSubjectError
    """
    applicability = _Applicability({check.key: check for check in catalogue.checks}, bike, answers, {})
    places = {group: place for place, group in enumerate(Group)}
    applying = [check for check in catalogue.checks if applicability.applies(check)]
    return tuple(sorted(applying, key=lambda check: places[check.group]))


def known_answer(check: Check, bike: BikeFacts) -> Answer | None:
    """Return the answer that a known fact of the bike gives to a check, None where it has to be asked."""
    value = bike.facts.get(check.fact, "")
    return Answer(value) if any(option.key == value for option in check.options) else None


def answer_in_force(check: Check, bike: BikeFacts, answers: Mapping[str, Answer]) -> Answer | None:
    """Return the answer that counts: what is known of the bike, else what the rider said."""
    return known_answer(check, bike) or answers.get(check.key)


def conditions_left(
    catalogue: Catalogue, bike: BikeFacts, answers: Mapping[str, Answer]
) -> dict[str, tuple[Condition, ...]]:
    """Return the checks that may be there to be made, each with those of its conditions that nothing has settled yet.

    A condition is settled by a fact of the bike, by an answer that was asked for, or because the check that it waits for cannot be
    there. What was not answered, or could not be done, leaves it open, unless it names ``could_not`` itself.

    Raises
    ------
    ConditionCycleError, ConditionSubjectError
    """
    checks = {check.key: check for check in catalogue.checks}
    openness = _Openness(_Applicability(checks, bike, answers, {}), {})
    left = {check.key: openness.left(check) for check in catalogue.checks}
    return {key: conditions for key, conditions in left.items() if conditions is not None}


@dataclass(frozen=True, slots=True)
class _Applicability:
    checks: Mapping[str, Check]
    bike: BikeFacts
    answers: Mapping[str, Answer]
    settled: dict[str, bool]

    def applies(self, check: Check, waiting: tuple[str, ...] = ()) -> bool:
        if check.key in waiting:
            raise ConditionCycleError((*waiting[waiting.index(check.key) :], check.key))
        if check.key not in self.settled:
            fits = not check.kinds or self.bike.kind in check.kinds
            waiting = (*waiting, check.key)
            self.settled[check.key] = fits and all(self.met(condition, waiting) for condition in check.conditions)
        return self.settled[check.key]

    def met(self, condition: Condition, waiting: tuple[str, ...] = ()) -> bool:
        subject, _, name = condition.subject.partition(".")
        if subject not in {"bike", "answer"} or not name:
            raise ConditionSubjectError(condition.subject)
        value = self._fact(name) if subject == "bike" else self._answer(name, waiting)
        if not value:
            return subject == "bike" or condition.unless
        return (value in condition.among) != condition.unless

    def _fact(self, name: str) -> str:
        return self.bike.kind.value if name == "kind" else self.bike.facts.get(name, "")

    def _answer(self, name: str, waiting: tuple[str, ...]) -> str:
        check = self.checks.get(name)
        if check is None or not self.applies(check, waiting):
            return ""
        answer = answer_in_force(check, self.bike, self.answers) or Answer()
        readable = {COULD_NOT, *(option.key for option in check.options)}
        return answer.option if answer.option in readable else ""


@dataclass(frozen=True, slots=True)
class _Openness:
    asked: _Applicability
    found: dict[str, tuple[Condition, ...] | None]

    def left(self, check: Check) -> tuple[Condition, ...] | None:
        """Return the conditions that are still open, None where one cannot be met any more."""
        if check.key not in self.found:
            self.asked.applies(check)  # raises where checks wait for one another in a circle
            self.found[check.key] = self._left(check)
        return self.found[check.key]

    def _left(self, check: Check) -> tuple[Condition, ...] | None:
        if check.kinds and self.asked.bike.kind not in check.kinds:
            return None
        met = [self._met(condition) for condition in check.conditions]
        if False in met:
            return None
        return tuple(condition for condition, one in zip(check.conditions, met, strict=True) if one is None)

    def _met(self, condition: Condition) -> bool | None:
        subject, _, name = condition.subject.partition(".")
        parent = self.asked.checks.get(name)
        if subject == "bike":
            return self.asked.met(condition)
        if parent is None or self.left(parent) is None:
            return condition.unless
        if not self.asked.applies(parent):
            return None
        answer = answer_in_force(parent, self.asked.bike, self.asked.answers) or Answer()
        if answer.option in condition.among:
            return not condition.unless
        answered = any(option.key == answer.option for option in parent.options) or measured_faults(parent, answer)
        return condition.unless if answered else None
