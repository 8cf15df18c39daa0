"""Which checks apply to a bike: by its kind, by its facts and by earlier answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from intake.catalogue.schema import COULD_NOT, Catalogue, Check, Condition, Group
from intake.triage.answers import Answer, BikeFacts
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
            self.settled[check.key] = fits and all(self._met(condition, waiting) for condition in check.conditions)
        return self.settled[check.key]

    def _met(self, condition: Condition, waiting: tuple[str, ...]) -> bool:
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
