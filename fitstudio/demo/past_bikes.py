"""What was truly wrong with the bikes of the demo's past months, what their riders said of it, and who put it right."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Any

from fitstudio.demo.answers import USUAL_LENGTHS_MM
from intake.catalogue.schema import COULD_NOT, Check, Fault, Hazard, Who
from intake.selectors.triage import judge
from intake.triage.answers import Answer, Ruling, TriageInput
from intake.triage.conditions import applying_checks, known_answer
from intake.triage.lognormal import lognormal_parameters

HONEST, COULD = 0.95, 0.97  # the share of answers that tell what is so, and of checks that the rider could do
SLOWER = 1.15  # this studio's bench takes so much longer than the catalogue thinks
PREFERRED = 0.7
PUT_RIGHT = {Who.RIDER: 0.5, Who.WORKSHOP: 0.4, Who.BRING: 0.5, Who.STUDIO: 0.5}


@dataclass(frozen=True)
class Step:
    """Something that was done about one finding, so many days before the session."""

    key: str
    who: Who
    days_before: int


def faults_of(given: TriageInput, told: Mapping[str, Any], rng: Random) -> dict[str, str]:
    """Draw at most one fault a check; whoever was held to be ill or hurt is no rider of these months."""
    found = {}
    for check in _asked(given):
        left = rng.random()
        for fault in check.faults:
            left -= fault.rate * told["as_often"].get(f"{check.key}.{fault.key}", told["usually"])
            if left < 0:
                if fault.hazard in {Hazard.NONE, Hazard.DO_NOT_RIDE}:
                    found[check.key] = fault.key
                break
    return found


def _asked(given: TriageInput) -> list[Check]:
    applying = applying_checks(given.catalogue, given.bike, given.answers)
    return [check for check in applying if known_answer(check, given.bike) is None]


def answers_of(given: TriageInput, faults: Mapping[str, str], rng: Random) -> dict[str, Answer]:
    """Return what a rider says who does the whole check, as far as they could."""
    answers: dict[str, Answer] = {}
    while True:
        asked = [check for check in _asked(replace(given, answers=answers)) if check.key not in answers]
        if not asked:
            return answers
        answers |= {check.key: _answer(check, faults.get(check.key, ""), rng) for check in asked}


def _answer(check: Check, fault: str, rng: Random) -> Answer:
    if check.group.value != "rider" and rng.random() > COULD:
        return Answer(COULD_NOT)
    sound = [option for option in check.options if not option.faults]
    options = [option for option in check.options if fault in option.faults] if fault else sound
    doubtful = [option for option in check.options if 0 < option.faults.get(fault, 0) < 1]
    if fault and doubtful and rng.random() > HONEST:
        options = doubtful
    option = max(options or sound, key=lambda each: each.faults.get(fault, 0))
    return Answer(option.key, USUAL_LENGTHS_MM.get(check.key, {}) if not fault else {})


def steps_of(given: TriageInput, answered_days_before: int, care: float, rng: Random) -> list[Step]:
    """Return what was done about the findings between the answers and the day: the more, the more care (0 to 1) the studio took."""
    steps = []
    for finding in judge(given).findings:
        ways = [way.remedy for way in finding.remedies if not way.late and not way.remedy.prepares]
        if not ways or finding.probability < 0.5:
            continue
        who = ways[0 if rng.random() < PREFERRED else -1].who
        if rng.random() < PUT_RIGHT[who] + care * (1 - PUT_RIGHT[who]):
            steps.append(Step(finding.key, who, rng.randint(0, max(0, answered_days_before - 1))))
    return steps


def ruling_of(step: Step) -> Ruling | None:
    """Return what the fitter ruled, where the rider or a workshop did not do it themselves."""
    return {Who.STUDIO: Ruling.STUDIO, Who.BRING: Ruling.BRING_PART}.get(step.who)


def bench_min(fault: Fault, rng: Random) -> int:
    """Draw the minutes that a fault took at the bench."""
    if fault.minutes is None:
        return 0
    mu, sigma = lognormal_parameters(fault.minutes)
    return max(1, round(SLOWER * math.exp(rng.gauss(mu, sigma))))
