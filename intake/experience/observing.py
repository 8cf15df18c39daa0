"""What one closed session teaches: which faults were there, which were not, which nobody can know; and whose minutes could have been saved.

A rate is *the share of bikes, of those a check applies to, that have the fault when the rider is asked*. It stands in a forecast
where nothing is known. So every closed session counts for every fault of every check that applied to its bike, whether or not the
check was asked or the fault suspected: counting only where something was suspected would make every fault look common.

A session teaches only when somebody said what ate its time, or that nothing did. Then a fault was, in this order,

1. *there* where it took minutes at the bench;
2. *not there* where a fitter ruled that it is no fault;
3. *there* where it was ruled or reported fixed, or where the rider's answer leaves no doubt of it (fixed before the slot or not);
4. *not there* where the answer leaves no doubt that it is not;
5. *not known* where a doubtful fault was accepted or was to be fixed first (nobody looked, or somebody may have put it right unsaid),
   where minutes were noted for its check without saying for which of several faults, and where it costs no minutes, so that the bench
   would not have noticed;
6. *not there* otherwise: it reached the bench and took nothing.

Not known counts neither way. What remains is a weakness of the answers: who repairs a fault and then changes the answer, without saying
that it was repaired, counts as never having had it. Minutes are learned only from minutes that were lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from intake.catalogue.schema import Check, Fault, Who
from intake.triage.answers import Answer, Experience, Ruling, TriageInput
from intake.triage.beliefs import Belief, believe
from intake.triage.conditions import answer_in_force, applying_checks
from intake.triage.deadlines import fix_by

BEFORE_THE_SLOT = frozenset({Who.RIDER, Who.WORKSHOP, Who.BRING})
PLANNED_AT_BENCH = frozenset({Ruling.STUDIO, Ruling.BRING_PART, Ruling.ACCEPT})
UNTOUCHED = frozenset({Ruling.ACCEPT, Ruling.FIX_FIRST})


class Hindsight(StrEnum):
    """What was known in advance of minutes that a fault took: the first that holds."""

    PLANNED = "planned"
    TOLD_IN_TIME = "told_in_time"
    TOLD_LATE = "told_late"
    NOT_SHOWN = "not_shown"
    NOT_ANSWERED = "not_answered"


@dataclass(frozen=True, slots=True)
class Observation:
    """One fault in one session: there (True) or not (False)."""

    key: str
    there: bool


@dataclass(frozen=True, slots=True)
class Loss:
    """Minutes that one fault, or a check without saying which fault, took at the bench, and what was known of it before."""

    key: str
    minutes: float
    hindsight: Hindsight


@dataclass(frozen=True, slots=True)
class Lesson:
    """All that one session teaches."""

    observations: tuple[Observation, ...]
    losses: tuple[Loss, ...]


def lesson(given: TriageInput, lost_min: Mapping[str, float], answered_on: Mapping[str, date]) -> Lesson:
    """Return what a session teaches, of which somebody said what ate its time.

    Parameters
    ----------
    given : TriageInput
        What was known of the session before it: answers, rulings, catalogue, slot.
    lost_min : mapping of finding key, or of check key where the fault is not named, to minutes
        What was noted at closing [min]. Anything that no check could have found is not among it.
    answered_on : mapping of check key to date
        The studio's day of each answer; a fact that was known of the bike needs none.

    Raises
    ------
    TriageError
        As for a triage.
    """
    beliefs = tuple(_beliefs(given))
    lost_min = _named(lost_min, given)
    seen = (_observed(belief, fault, given, lost_min) for belief in beliefs for fault in belief.check.faults)
    by_check = {belief.check.key: belief for belief in beliefs}
    losses = (
        Loss(key, minutes, _hindsight(key, by_check.get(key.partition(".")[0]), given, answered_on))
        for key, minutes in sorted(lost_min.items())
        if key
    )
    return Lesson(tuple(one for one in seen if one is not None), tuple(losses))


def _beliefs(given: TriageInput) -> Iterator[Belief]:
    for check in applying_checks(given.catalogue, given.bike, given.answers):
        yield believe(check, answer_in_force(check, given.bike, given.answers) or Answer(), Experience())


def _named(lost_min: Mapping[str, float], given: TriageInput) -> dict[str, float]:
    """Return the losses with the fault named where its check can take time by one fault only."""
    named: dict[str, float] = {}
    costly = {check.key: _costly(check) for check in given.catalogue.checks}
    for key, minutes in lost_min.items():
        faults = costly.get(key, ())
        name = f"{key}.{faults[0].key}" if len(faults) == 1 else key
        named[name] = named.get(name, 0) + minutes
    return named


def _costly(check: Check) -> tuple[Fault, ...]:
    return tuple(fault for fault in check.faults if fault.minutes is not None)


def _observed(belief: Belief, fault: Fault, given: TriageInput, lost_min: Mapping[str, float]) -> Observation | None:
    key = f"{belief.check.key}.{fault.key}"
    if key in lost_min:
        return Observation(key, there=True)
    there = _ruled_or_told(belief, fault, given.rulings.get(key))
    if there is not None:
        return Observation(key, there=there)
    ruling = given.rulings.get(key) or given.rulings.get(belief.check.key)
    if ruling in UNTOUCHED or belief.check.key in lost_min or fault.minutes is None:
        return None
    return Observation(key, there=False)


def _ruled_or_told(belief: Belief, fault: Fault, ruling: Ruling | None) -> bool | None:
    if ruling is Ruling.NOT_A_FAULT:
        return False
    probability = belief.probabilities[fault.key]
    if ruling is Ruling.FIXED or probability >= 1:
        return True
    return False if fault.key in belief.said and probability == 0 else None


def _hindsight(key: str, belief: Belief | None, given: TriageInput, answered_on: Mapping[str, date]) -> Hindsight:
    if given.rulings.get(key) in PLANNED_AT_BENCH:
        return Hindsight.PLANNED
    if belief is None or not belief.answered:
        return Hindsight.NOT_ANSWERED
    _check, _dot, fault = key.partition(".")
    probability = belief.probabilities.get(fault, 0.0) if fault else sum(belief.probabilities.values())
    if probability < given.slot.thresholds.probably_locked:
        return Hindsight.NOT_SHOWN
    return Hindsight.TOLD_IN_TIME if _in_time(belief.check, fault, given, answered_on) else Hindsight.TOLD_LATE


def _in_time(check: Check, fault_key: str, given: TriageInput, answered_on: Mapping[str, date]) -> bool:
    """Return whether a remedy could still start on the day of the answer and be done before the slot."""
    told_on, slot = answered_on.get(check.key), given.slot
    remedies = [
        given.catalogue.remedies[key]
        for fault in check.faults
        if fault_key in {"", fault.key}
        for key in fault.remedies
    ]
    lead_days = [remedy.lead_days for remedy in remedies if remedy.who in BEFORE_THE_SLOT]
    if not lead_days:
        return False
    return told_on is None or told_on <= fix_by(slot.starts_on, min(lead_days), slot.working_days)
