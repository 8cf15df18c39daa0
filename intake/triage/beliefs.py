"""What an answer, or no answer, says about the faults of its check: a probability for each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from intake.catalogue.schema import COULD_NOT, AnswerOption, Check, NumberRule
from intake.triage.answers import Answer, Experience
from intake.triage.errors import (
    ImpossibleProbabilityError,
    LengthRefusedError,
    TriageError,
    UnknownLengthError,
    UnknownOptionError,
)

TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Belief:
    """The faults of one check as its answer leaves them.

    Attributes
    ----------
    probabilities : mapping of fault key to probability
        Faults of a check exclude one another and add to at most 1, except that lengths can show several with certainty.
    said : frozenset of fault keys
        The faults on which the answer speaks; of the others only the usual rate is known.
    answered : bool
        Whether the answer says anything.
    option : str
        The option that was chosen, empty where none of this check's was.
    could_not : bool
        Whether the rider tried and could not do the check.
    readable : bool
        False where the stored answer does not fit this version of the catalogue; it counts as far as it fits.
    """

    check: Check
    probabilities: Mapping[str, float]
    said: frozenset[str]
    answered: bool
    option: str
    could_not: bool
    readable: bool


def check_answer(check: Check, answer: Answer) -> None:
    """Raise the reason why an answer does not fit its check.

    Raises
    ------
    UnknownOptionError, UnknownLengthError, LengthRefusedError
    """
    if answer.option not in {"", COULD_NOT} and _option(check, answer) is None:
        raise UnknownOptionError(check.key, answer.option)
    fields = {number.key: number for number in check.numbers}
    for key, value_mm in answer.lengths_mm.items():
        if key not in fields:
            raise UnknownLengthError(check.key, key)
        if not fields[key].minimum_mm <= value_mm <= fields[key].maximum_mm:
            raise LengthRefusedError(key, value_mm, fields[key].refusal)


def can_answer(check: Check, answer: Answer) -> bool:
    """Say whether an answer fits its check."""
    try:
        check_answer(check, answer)
    except TriageError:
        return False
    return True


def believe(check: Check, answer: Answer | None, experience: Experience) -> Belief:
    """Return what an answer says about the faults of its check.

    Lengths decide first: a rule that holds makes its fault certain, rules that were all measured and do not hold rule it out. For the other
    faults the chosen option speaks. Without one, a fault that lengths have shown excludes the rest, and otherwise the usual
    rate remains: the studio's own where it has one, else the catalogue's.

    Raises
    ------
    ImpossibleProbabilityError
        Where the catalogue or the experience gives a probability that cannot be.
    """
    answer = answer or Answer()
    option, measured = _option(check, answer), measured_faults(check, answer)
    shown = any(measured.values())
    rest = option.faults if option else {} if shown else usual_rates(check, experience)
    probabilities = {
        fault.key: float(measured[fault.key]) if fault.key in measured else rest.get(fault.key, 0.0)
        for fault in check.faults
    }
    _check_probabilities(check.key, probabilities)
    said = frozenset(probabilities) if option or shown else frozenset(measured)
    return Belief(
        check=check,
        probabilities=probabilities,
        said=said,
        answered=option is not None or bool(measured),
        option=option.key if option else "",
        could_not=answer.option == COULD_NOT,
        readable=can_answer(check, answer),
    )


def usual_rates(check: Check, experience: Experience) -> dict[str, float]:
    """Return the rates of a check's faults among riders of whom nothing is known.

    Rates that a studio learned one by one may add to more than 1; they are then scaled down together.
    """
    rates = {fault.key: experience.rates.get(f"{check.key}.{fault.key}", fault.rate) for fault in check.faults}
    for key, rate in rates.items():
        if not 0 <= rate <= 1:
            raise ImpossibleProbabilityError(f"{check.key}.{key}", rate)
    added = sum(rates.values())
    return {key: rate / max(1.0, added) for key, rate in rates.items()}


def measured_faults(check: Check, answer: Answer) -> dict[str, bool]:
    """Return the faults that the given lengths show (True) or rule out (False); a fault that they leave open is missing."""
    verdicts: dict[str, list[bool | None]] = {}
    lengths_mm = _readable_lengths(check, answer)
    for rule in check.rules:
        verdicts.setdefault(rule.fault, []).append(_holds(rule, lengths_mm))
    shown = {fault: True for fault, held in verdicts.items() if True in held}
    ruled_out = {fault: False for fault, held in verdicts.items() if all(one is False for one in held)}
    return shown | ruled_out


def _holds(rule: NumberRule, lengths_mm: Mapping[str, float]) -> bool | None:
    needed = [rule.field, rule.minus] if rule.minus else [rule.field]
    if any(key not in lengths_mm for key in needed):
        return None
    value_mm = abs(lengths_mm[rule.field] - lengths_mm[rule.minus]) if rule.minus else lengths_mm[rule.field]
    least_mm = -math.inf if rule.at_least_mm is None else rule.at_least_mm
    most_mm = math.inf if rule.at_most_mm is None else rule.at_most_mm
    return least_mm <= value_mm <= most_mm


def _readable_lengths(check: Check, answer: Answer) -> dict[str, float]:
    fields = {number.key: number for number in check.numbers}
    return {
        key: value_mm
        for key, value_mm in answer.lengths_mm.items()
        if key in fields and fields[key].minimum_mm <= value_mm <= fields[key].maximum_mm
    }


def _option(check: Check, answer: Answer) -> AnswerOption | None:
    return next((option for option in check.options if option.key == answer.option), None)


def _check_probabilities(check: str, probabilities: Mapping[str, float]) -> None:
    for key, probability in probabilities.items():
        if not 0 <= probability <= 1:
            raise ImpossibleProbabilityError(f"{check}.{key}", probability)
    doubtful = sum(probability for probability in probabilities.values() if probability < 1)
    if doubtful > 1 + TOLERANCE:
        raise ImpossibleProbabilityError(check, doubtful)
