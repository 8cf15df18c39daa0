"""Build the joint law of all that the checks can show: outcomes of what hangs together, weighed by every answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import reduce

import numpy as np

from intake.catalogue.groups import connected
from intake.catalogue.schema import Catalogue, Condition, Moot
from intake.triage.answers import Experience, TriageInput
from intake.triage.exposures import Surroundings, surroundings
from intake.triage.findings import SURE, Case, Finding
from intake.triage.joint import Block, Flags, Joint, Places
from intake.triage.lognormal import Distribution
from intake.triage.ways import Way, chances, ways


def joint_law(cases: tuple[Case, ...], given: TriageInput) -> Joint:
    """Return the law of everything that these checks can show together, with the findings' probabilities under it.

    Notes
    -----
    Checks that wait for one another's answers, or of which one has faults that make another's moot, form a block: its outcomes are
    enumerated. Blocks are independent in each combination of exposures e, so P(e | answers) ∝ P(e) ∏ P(answers of block | e).
    Answers that no combination allows leave the exposures as they were before.
    """
    around = surroundings(given.catalogue, (case.check for case in cases))
    watched = _watched(cases)
    moots = _live(given.catalogue, cases)
    blocks, exposed = [], around.prior
    for group in _groups(cases, moots):
        block, mass = _block(group, cases, watched, moots, around, given.experience)
        blocks.append(block)
        exposed = exposed * mass
    exposed = exposed / exposed.sum() if exposed.sum() > 0 else around.prior / around.prior.sum()
    exposures = {each.key: float(exposed @ [state[each.key] for state in around.states]) for each in around.exposures}
    return Joint(cases, tuple(blocks), exposed, exposures).with_cases(cases)


def _watched(cases: Sequence[Case]) -> dict[str, list[Condition]]:
    """Return for each check the open conditions that wait for it."""
    watched: dict[str, list[Condition]] = {}
    for case in cases:
        for condition in case.waits:
            watched.setdefault(condition.subject.partition(".")[2], []).append(condition)
    return watched


def _live(catalogue: Catalogue, cases: Sequence[Case]) -> list[Moot]:
    """Return which faults that can be there spare which others that can."""
    if not catalogue.moots:
        return []
    possible = {each.key for case in cases for each in case.findings if each.probability > 0 and each.minutes}
    live = (replace(moot, spared=tuple(key for key in moot.spared if key in possible)) for moot in catalogue.moots)
    return [moot for moot in live if moot.fault in possible and moot.spared]


def _groups(cases: Sequence[Case], moots: Sequence[Moot]) -> list[list[int]]:
    places = {case.check.key: place for place, case in enumerate(cases)}
    pairs = [(case.check.key, each.subject.partition(".")[2]) for case in cases for each in case.waits]
    pairs += [(moot.fault.partition(".")[0], key.partition(".")[0]) for moot in moots for key in moot.spared]
    return [[places[key] for key in group] for group in connected(places, pairs)]


def _block(
    group: Sequence[int],
    cases: Sequence[Case],
    watched: Mapping[str, Sequence[Condition]],
    moots: Sequence[Moot],
    around: Surroundings,
    experience: Experience,
) -> tuple[Block, Distribution]:
    """Return a block, and the probability of its answers under each combination of exposures."""
    members = {cases[place].check.key: cases[place] for place in group}
    found = {key: ways(case, watched.get(key, ()), around.asked_by.get(key)) for key, case in members.items()}
    law = {key: chances(case, found[key], around, experience) for key, case in members.items()}
    turned, there, weights = _enumerated(members, found, law)
    keys = tuple(each.key for case in members.values() for each in case.findings if each.probability > 0)
    flags = [
        _there(each, found[key], turned[key], there[key]) for key, case in members.items() for each in _possible(case)
    ]
    mass = weights.sum(axis=1)
    places = {key: place for place, key in enumerate(keys)}
    block = Block(
        places=tuple(group),
        law=weights / np.where(mass > 0, mass, 1.0)[:, None],
        keys=keys,
        there=np.array(flags, dtype=np.bool_).reshape(len(keys), weights.shape[1]),
        spared=tuple((places[m.fault], places[key]) for m in moots if m.fault in places for key in m.spared),
        ways=found,
        turned=turned,
    )
    return block, mass


def _possible(case: Case) -> list[Finding]:
    return [each for each in case.findings if each.probability > 0]


def _there(finding: Finding, found: Sequence[Way], turned: Places, made: Flags) -> Flags:
    if finding.probability >= SURE:
        return made
    mine: Flags = np.array([way.fault == finding.fault.key for way in found])
    return mine[turned] & made


def _enumerated(
    members: Mapping[str, Case], found: Mapping[str, tuple[Way, ...]], law: Mapping[str, Distribution]
) -> tuple[dict[str, Places], dict[str, Flags], Distribution]:
    """Return for every outcome of a block which way each check takes, whether it is there to be made, and the outcome's weight."""
    sizes = [len(found[key]) for key in members]
    turned = dict(zip(members, np.indices(sizes).reshape(len(sizes), -1), strict=True))
    outcomes = reduce(int.__mul__, sizes)
    there: dict[str, Flags] = {}
    weights = np.ones((1, outcomes))
    for key in _parents_first(members):
        factor = law[key][:, turned[key]]
        there[key] = np.ones(outcomes, dtype=np.bool_)
        for condition in members[key].waits:
            there[key] &= _met(condition, found, turned, there)
        if members[key].waits:
            factor = np.where(there[key], factor, turned[key] == 0)
        weights = weights * factor
    kept = weights.any(axis=0)
    if kept.all():
        return turned, there, weights
    return (
        {key: places[kept] for key, places in turned.items()},
        {key: flags[kept] for key, flags in there.items()},
        weights[:, kept],
    )


def _parents_first(members: Mapping[str, Case]) -> list[str]:
    ordered: dict[str, None] = {}

    def visit(key: str) -> None:
        for condition in members[key].waits:
            visit(condition.subject.partition(".")[2])
        ordered.setdefault(key)

    for key in members:
        visit(key)
    return list(ordered)


def _met(
    condition: Condition, found: Mapping[str, tuple[Way, ...]], turned: Mapping[str, Places], there: Mapping[str, Flags]
) -> Flags:
    parent = condition.subject.partition(".")[2]
    named: Flags = np.array([bool(way.answers) and way.answers[0] in condition.among for way in found[parent]])
    met: Flags = (named[turned[parent]] & there[parent]) != condition.unless
    return met
