"""A rider with five minutes: the five answers that are asked for, against the best five questions there are.

Riders are drawn from the model itself: an exposure state, then everything that is wrong with the bike. A rider answers truly and
clearly. With five answers the verdict itself is nearly always "ask the rider", since something that could matter is still unknown.
What is compared is therefore the decision that stands behind the verdict, made as well as what is known allows: to hold the session
as it stands where the chance of a good one (nothing bars it, the minutes stay within the slack) is at least one half. *Right* is
that same decision on the fully answered check.

Every rider has said before that nothing hurts them in a way that belongs with a clinician and that the bike as a whole is safe:
those questions are always asked first, and with them open the decision hardly ever hangs on five others.
"""

from collections import Counter
from functools import reduce

import numpy as np
import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Adjustment, BikeKind, Group
from intake.catalogue.shares import telling_answers
from intake.triage.answers import Answer, BikeFacts, TriageInput
from intake.triage.asking import good_rows, is_open, rank_questions
from intake.triage.building import joint_law
from intake.triage.cases import cases
from intake.triage.deadlines import dated_remedies
from intake.triage.findings import bars
from intake.triage.forecast import nothing_lost
from intake.triage.sums import within
from tests.core.catalogues import slot

CATALOGUE = load_catalogue()
RIDERS, FIVE = 300, 5
SAFETY = (Group.RIDER, Group.WHOLE)
SADDLE = (Adjustment.SADDLE_HEIGHT, Adjustment.SADDLE_SETBACK, Adjustment.SADDLE_TILT)
CLEATS = (Adjustment.CLEAT_FORE_AFT, Adjustment.CLEAT_LATERAL, Adjustment.CLEAT_ROTATION)
# Bikes and services: kind, essential adjustments, planned minutes, slack.
SERVICES = {
    "saddle": (BikeKind.ROAD, SADDLE, 90, 45),
    "cleats": (BikeKind.GRAVEL, CLEATS, 60, 60),
}


class Bench:
    """One bike and service: what the engine knows after some answers, each state of knowledge worked out once."""

    def __init__(self, kind, essential, planned_min, slack_min):
        self.slot = slot(planned_min=planned_min, slack_min=slack_min, essential=essential)
        self.kind = kind
        self.known = {}
        self.first = {
            each.key: sound(each) for each in CATALOGUE.checks if each.group in SAFETY and each.key != "indoors"
        }
        self.joint, _ = self.judge({})

    def given(self, answers):
        answered = {key: Answer(option) for key, option in (self.first | answers).items()}
        return TriageInput(CATALOGUE, BikeFacts(self.kind), answered, (), self.slot)

    def judge(self, answers):
        """The joint law after these answers, and the check to ask next."""
        key = tuple(sorted(answers.items()))
        if key not in self.known:
            given = self.given(answers)
            joint = joint_law(cases(given, dated_remedies(CATALOGUE.remedies, self.slot)), given)
            ranked = rank_questions(joint, self.slot) if len(answers) < FIVE else ()
            self.known[key] = joint, ranked[0].check.key if ranked else None
        return self.known[key]

    def holds(self, answers):
        """Whether the better decision after these answers is to hold the session."""
        joint, _ = self.judge(answers)
        findings = [finding for case in joint.cases for finding in case.findings]
        rows = good_rows(joint, self.slot)
        mixed = [block.law @ good for block, good in zip(joint.blocks, rows, strict=True)]
        good = reduce(within, mixed, nothing_lost(self.slot.slack_min + 1)[None])
        chance = (joint.exposed @ np.broadcast_to(good, (len(joint.exposed), good.shape[1]))).sum()
        return chance >= 0.5 and not any(each.sure and bars(each, self.slot.essential) for each in findings)

    def riders(self, rng):
        """Draw riders: for each, the outcome of every block."""
        state = rng.choice(len(self.joint.exposed), RIDERS, p=self.joint.exposed)
        return np.array(
            [
                [rng.choice(block.law.shape[1], p=block.law[each % len(block.law)]) for block in self.joint.blocks]
                for each in state
            ]
        )

    def answers(self, outcome):
        """What a rider with these outcomes says to each check."""
        said = dict(self.first)
        for block, row in zip(self.joint.blocks, outcome, strict=True):
            faults = {
                key.partition(".")[0]: key.partition(".")[2]
                for place, key in enumerate(block.keys)
                if block.there[place, row]
            }
            for key, ways in block.ways.items():
                way = ways[block.turned[key][row]]
                told = way.answers or tuple(telling_answers(CATALOGUE.check(key), faults.get(key, "")))
                said.setdefault(key, told[0])
        return said


def sound(one):
    """The answer of a bike, or a rider, that needs nothing."""
    return next(iter(telling_answers(one)))


def asked_five(bench, said):
    """The answers to what the engine asks, one after the other, ranked anew after each."""
    answers = {}
    for _ in range(FIVE):
        _, key = bench.judge(answers)
        if key is None:
            break
        answers = answers | {key: said[key]}
    return answers


class FixedFive:
    """Decisions from the true outcomes of a fixed set of checks, straight from the law, for all riders at once."""

    def __init__(self, bench, riders, right):
        self.bench, self.riders, self.right = bench, riders, right
        self.rows = good_rows(bench.joint, bench.slot)
        self.mixed = [block.law @ rows for block, rows in zip(bench.joint.blocks, self.rows, strict=True)]
        self.scores, self.heads = {}, {}

    def score(self, keys):
        """The share of riders for whom these answers lead to the right decision."""
        keys = tuple(sorted(keys))
        if keys not in self.scores:
            blocks = self.bench.joint.blocks
            asked = [place for place, block in enumerate(blocks) if any(key in block.turned for key in keys)]
            rest = [self.mixed[place] for place in range(len(blocks)) if place not in asked]
            others = reduce(within, rest, nothing_lost(self.bench.slot.slack_min + 1)[None])
            heads = [self._heads(place, keys) for place in asked]
            seen = np.stack([self._codes(blocks[place], keys)[self.riders[:, place]] for place in asked], axis=1)
            patterns, which = np.unique(seen, axis=0, return_inverse=True)
            holds = [self._good(pattern, heads, others) >= 0.5 for pattern in patterns.tolist()]
            self.scores[keys] = float((np.array(holds)[which.ravel()] == self.right).mean())
        return self.scores[keys]

    def _codes(self, block, keys):
        return reduce(lambda codes, key: codes * 10 + block.turned[key] if key in block.turned else codes, keys, 0)

    def _heads(self, place, keys):
        """Chances of minutes, and probability, for each way in which these checks of one block can be answered."""
        block = self.bench.joint.blocks[place]
        mine = (place, *(key for key in keys if key in block.turned))
        if mine not in self.heads:
            codes = self._codes(block, keys)
            laws = {code: block.law * (codes == code) for code in np.unique(codes).tolist()}
            self.heads[mine] = {code: (law @ self.rows[place], law.sum(axis=1)) for code, law in laws.items()}
        return self.heads[mine]

    def _good(self, pattern, heads, others):
        exposed = self.bench.joint.exposed
        good, mass = others, exposed
        for code, found in zip(pattern, heads, strict=True):
            good, mass = within(good, found[code][0]), mass * found[code][1]
        return float((exposed @ np.broadcast_to(good, (len(exposed), good.shape[1]))).sum() / mass.sum())

    def best(self, candidates, *starts):
        """Swap any one for any other until none helps, from a greedy choice and from other beginnings: a search over all checks."""
        greedy = []
        while len(greedy) < FIVE:
            greedy.append(
                max((key for key in candidates if key not in greedy), key=lambda key: self.score([*greedy, key]))
            )
        return max((self._swapped(list(start), candidates) for start in (greedy, *starts)), key=self.score)

    def _swapped(self, chosen, candidates):
        while True:
            swaps = [
                [*(k for k in chosen if k != out), new] for out in chosen for new in candidates if new not in chosen
            ]
            better = max(swaps, key=self.score)
            if self.score(better) <= self.score(chosen):
                return chosen
            chosen = better


@pytest.mark.parametrize("service", SERVICES)
def test_the_five_that_are_asked_do_nearly_as_well_as_the_best_five_there_are(service):
    """At least 95 % of the share of right decisions of the best fixed five that a search over all open checks finds."""
    bench = Bench(*SERVICES[service])
    riders = bench.riders(np.random.default_rng(20261125))
    rows = good_rows(bench.joint, bench.slot)
    full = [reduce(within, [row[[each]] for row, each in zip(rows, rider, strict=True)]).sum() for rider in riders]
    right = np.array(full) >= 0.5
    asked = [asked_five(bench, bench.answers(rider)) for rider in riders]
    share = np.mean([bench.holds(answers) == held for answers, held in zip(asked, right, strict=True)])
    fixed = FixedFive(bench, riders, right)
    commonest, _ = Counter(tuple(answers) for answers in asked).most_common(1)[0]
    best = fixed.best([case.check.key for case in bench.joint.cases if is_open(case)], commonest)
    assert share >= 0.95 * fixed.score(best)
    assert share > max(right.mean(), 1 - right.mean()) + 0.1


def test_decisions_by_the_fixed_five_are_the_engines_own():
    """The two ways of deciding in this file agree: from the law at once, and by judging the answers (to checks that every bike has)."""
    bench = Bench(*SERVICES["cleats"])
    riders = bench.riders(np.random.default_rng(7))[:40]
    five = ["rail_bolts", "seat_bolts", "saddle_shell", "pedal_rock", "crank_play"]
    said = [bench.answers(rider) for rider in riders]
    holds = np.array([bench.holds({key: each[key] for key in five}) for each in said])
    assert FixedFive(bench, riders, holds).score(five) == 1
