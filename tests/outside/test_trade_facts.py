"""Facts of the trade as a rider's answers in, a verdict and its reason out.

Source: common practice, no source. The facts are data: ``fixtures/trade_facts.toml``.
"""

import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Adjustment, BikeKind, Hazard
from intake.triage.answers import Answer, BikeFacts, Slot, TriageInput, WorkingDays
from intake.triage.engine import triage

FACTS = tomllib.loads((Path(__file__).parents[2] / "fixtures" / "trade_facts.toml").read_text(encoding="utf-8"))[
    "facts"
]
KEYS = {
    "fact", "answers", "lengths", "facts", "kind", "essential", "planned_min", "slack_min", "days_left",
    "verdict", "code", "finding", "unreliable", "not_ridden", "map", "remedy", "stopped", "late",
}  # fmt: skip
CATALOGUE = load_catalogue()
WEDNESDAY = date(2026, 3, 18)


def judged(fact):
    """The triage of a fact's answers on a bike that is otherwise in good order."""
    bike = BikeFacts(BikeKind(fact.get("kind", "road")), fact.get("facts", {}))
    where = Slot(
        planned_min=fact.get("planned_min", 120),
        slack_min=fact.get("slack_min", 20),
        essential=frozenset(Adjustment(each) for each in fact.get("essential", Adjustment)),
        starts_on=WEDNESDAY,
        today=WEDNESDAY - timedelta(days=fact.get("days_left", 14)),
        working_days=WorkingDays(frozenset(range(5))),
    )
    said = {
        key: Answer(fact.get("answers", {}).get(key, ""), fact.get("lengths", {}).get(key, {}))
        for key in fact.get("answers", {}) | fact.get("lengths", {})
    }
    return triage(TriageInput(CATALOGUE, bike, in_good_order(bike, where, said), (), where))


def in_good_order(bike, where, said):
    """Add the soundest answer to every check that is asked besides."""
    answers = dict(said)
    while True:
        asked = triage(TriageInput(CATALOGUE, bike, answers, (), where)).asked
        if not (missing := [check for check in asked if check.key not in answers]):
            return answers
        answers |= {check.key: Answer(soundest(check)) for check in missing}


def soundest(check):
    """The answer that leaves the least doubt."""
    return min(check.options, key=lambda option: sum(option.faults.values())).key


@pytest.mark.parametrize("fact", FACTS, ids=[fact["fact"] for fact in FACTS])
def test_a_fact_of_the_trade(fact):
    """Common practice, no source: the triage says what a working fitter would."""
    assert set(fact) <= KEYS
    found = judged(fact)
    assert found.verdict == fact.get("verdict", found.verdict), [reason.text for reason in found.reasons]
    assert "code" not in fact or fact["code"] in {reason.code for reason in found.reasons}
    assert found.stopped is fact.get("stopped", False)
    left = {key: found.adjustments[Adjustment(key)].freedom.name.lower() for key in fact.get("map", {})}
    assert left == fact.get("map", {})
    if "finding" in fact:
        check_finding(fact, found.finding(fact["finding"]))


def check_finding(fact, finding):
    """What the finding must mean, and who must be able to put it right."""
    assert finding.fault.unreliable is fact.get("unreliable", finding.fault.unreliable)
    assert (finding.hazard is Hazard.DO_NOT_RIDE) is fact.get("not_ridden", False)
    assert "remedy" not in fact or fact["remedy"] in {way.remedy.who for way in finding.remedies}
    assert finding.late is fact.get("late", False)


def test_the_reason_names_the_finding():
    """A verdict of a fact with a finding is explained by that finding, unless the session stands."""
    for fact in FACTS:
        if fact.get("verdict") in {"do_not_ride", "fix_first", "bring_parts"}:
            named = {key for reason in judged(fact).reasons for key in reason.findings}
            assert fact["finding"] in named, fact["fact"]
