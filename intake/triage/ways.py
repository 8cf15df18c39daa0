"""The ways in which one check can turn out, in each combination of exposures."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from intake.catalogue.schema import Condition, Exposure
from intake.catalogue.shares import NO_FAULT, telling_answers
from intake.triage.answers import Experience, Ruling
from intake.triage.beliefs import usual_rates
from intake.triage.exposures import Surroundings
from intake.triage.findings import SURE, Case
from intake.triage.lognormal import Distribution


@dataclass(frozen=True, slots=True)
class Way:
    """One way in which a check can turn out.

    Attributes
    ----------
    fault : str
        The fault that is there, of those that exclude one another; empty for none.
    answers : tuple of str
        The answers that would tell it, where that matters for another check or an exposure.
    share : float
        Its probability by the check's own answer, or by the usual rates without one.
    """

    fault: str
    answers: tuple[str, ...]
    share: float


def ways(case: Case, watched: Sequence[Condition], exposure: Exposure | None) -> tuple[Way, ...]:
    """Return the ways in which a check can turn out, no fault first.

    Parameters
    ----------
    case : Case
    watched : sequence of Condition
        Conditions of other checks that wait for this one: what they tell apart is told apart here.
    exposure : Exposure or None
        The exposure of which this check speaks.
    """
    shares = {key: share for key, share in case.belief.probabilities.items() if 0 < share < SURE}
    plain = {NO_FAULT: 1.0 - min(1.0, sum(shares.values()))} | shares
    if not watched and exposure is None:
        return tuple(Way(fault, (), share) for fault, share in plain.items())
    if case.belief.option:
        return tuple(Way(fault, (case.belief.option,), share) for fault, share in plain.items())
    return tuple(way for fault, share in plain.items() for way in _told_apart(case, fault, share, watched, exposure))


def _told_apart(
    case: Case, fault: str, share: float, watched: Sequence[Condition], exposure: Exposure | None
) -> list[Way]:
    alike: dict[Hashable, list[tuple[str, float]]] = {}
    for key, part in telling_answers(case.check, fault).items():
        heard = tuple(key in condition.among for condition in watched)
        alike.setdefault((heard, exposure and exposure.given.get(key)), []).append((key, part))
    if not alike:
        return [Way(fault, (), share)]
    return [
        Way(fault, tuple(key for key, _ in group), share * sum(part for _, part in group)) for group in alike.values()
    ]


def chances(case: Case, found: Sequence[Way], around: Surroundings, experience: Experience) -> Distribution:
    """Return the probability of each way together with everything that the check's answer says about the exposures.

    Returns
    -------
    array of shape (combinations of exposures, ways), or (1, ways) where the check has nothing to do with any exposure

    Notes
    -----
    With q the probabilities that the answer leaves, r the usual rates and r(e) the rates under the exposures e, a way o has the
    weight q(o) · r(o, e) / r(o). The answer's likelihood is P(answer | o) ∝ q(o) / r(o), so this is Bayes' rule exactly; where
    nothing is answered it is just r(o, e). A fault that a fitter has ruled out speaks for the exposures like no fault.
    """
    law = np.array([[way.share for way in found]])
    if any(fault.exposed for fault in case.check.faults) and around.exposures:
        sure = next((key for key, share in case.belief.probabilities.items() if share >= SURE), NO_FAULT)
        law = law * np.array([_times(case, way.fault or sure, around, experience) for way in found]).T
    if case.check.key in around.asked_by:
        law = law * np.array([around.told(around.asked_by[case.check.key], way.answers) for way in found]).T
    return law


def _times(case: Case, fault: str, around: Surroundings, experience: Experience) -> Distribution:
    usual = usual_rates(case.check, experience)
    times = {each.key: around.times(each) for each in case.check.faults}
    total = np.sum([usual[key] * times[key] for key in usual], axis=0)
    scale = 1.0 / np.maximum(1.0, total)  # learned rates can lie too high for an exposure's factor
    if fault != NO_FAULT and not _ruled_out(case, fault):
        exposed: Distribution = times[fault] * scale
        return exposed
    sound = 1.0 - sum(usual.values())
    here = np.maximum(0.0, 1.0 - total * scale)
    ratio: Distribution = here / sound if sound > 0 else np.ones_like(here)
    return ratio


def _ruled_out(case: Case, fault: str) -> bool:
    rulings = (each.ruling for each in case.findings if each.fault.key == fault)
    return Ruling.NOT_A_FAULT in rulings
