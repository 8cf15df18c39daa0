"""Whole bikes, judged as an experienced fitter would: at least sixty written cases, each naming what backs it.

Sources: beside each case in ``fixtures/written_cases.toml``; where it says so, common practice without one.
"""

import tomllib
from collections import Counter
from datetime import date, timedelta
from pathlib import Path

import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Adjustment, BikeKind, Group
from intake.triage.answers import Answer, BikeFacts, Complaint, Ruling, Slot, TriageInput, WorkingDays
from intake.triage.engine import triage
from intake.triage.verdict import Verdict

FIXTURES = Path(__file__).parents[2] / "fixtures"
WRITTEN = tomllib.loads((FIXTURES / "written_cases.toml").read_text(encoding="utf-8"))
CASES, SERVICES = WRITTEN["cases"], WRITTEN["services"]
KEYS = {
    "case", "backing", "kind", "facts", "service", "days_left", "answers", "lengths", "hurts", "rulings",
    "verdict", "code", "about", "late", "in_time", "stopped", "suspects",
}  # fmt: skip
CATALOGUE = load_catalogue()
WEDNESDAY = date(2026, 3, 18)
MONDAY_TO_FRIDAY = WorkingDays(frozenset(range(5)))


def slot_of(case):
    """The session's slot, so many days before it."""
    service = SERVICES[case.get("service", "full")]
    return Slot(
        planned_min=service["planned_min"],
        slack_min=service["slack_min"],
        essential=frozenset(Adjustment(each) for each in service["essential"]),
        starts_on=WEDNESDAY,
        today=WEDNESDAY - timedelta(days=case["days_left"]),
        working_days=MONDAY_TO_FRIDAY,
    )


def judged(case):
    """The triage of a written case; what it does not mention is in good order."""
    told, lengths = case.get("answers", {}), case.get("lengths", {})
    answers = {key: Answer(option, lengths.get(key, {})) for key, option in told.items() if key != "*"}
    given = TriageInput(
        catalogue=CATALOGUE,
        bike=BikeFacts(BikeKind(case.get("kind", "road")), case.get("facts", {})),
        answers=answers,
        complaints=tuple(Complaint(**each) for each in case.get("hurts", [])),
        slot=slot_of(case),
        rulings={key: Ruling(ruling) for key, ruling in case.get("rulings", {}).items()},
    )
    return triage(given if "*" in told else in_good_order(given))


def in_good_order(given):
    """The same with the soundest answer to every check that is asked besides."""
    answers = dict(given.answers)
    while missing := [check for check in triage(with_answers(given, answers)).asked if check.key not in answers]:
        answers |= {check.key: Answer(soundest(check)) for check in missing}
    return with_answers(given, answers)


def with_answers(given, answers):
    """The same input with these answers."""
    return TriageInput(given.catalogue, given.bike, answers, given.complaints, given.slot, given.rulings)


def soundest(check):
    """The answer that leaves the least doubt."""
    return min(check.options, key=lambda option: sum(option.faults.values())).key


@pytest.mark.parametrize("case", CASES, ids=[case["case"] for case in CASES])
def test_a_written_case(case):
    """The triage decides what the fitter has decided, on the same grounds."""
    assert set(case) <= KEYS
    found = judged(case)
    said = [(reason.verdict.value, reason.code, reason.findings, reason.checks) for reason in found.reasons]
    assert found.verdict == case["verdict"], said
    grounds = [reason for reason in found.reasons if reason.verdict == found.verdict]
    assert "code" not in case or case["code"] in {reason.code for reason in grounds}, said
    named = {key for reason in grounds for key in (*reason.findings, *reason.checks)}
    assert set(case.get("about", [])) <= named, said
    assert found.stopped is case.get("stopped", False)
    assert {key for key in case.get("late", []) if not found.finding(key).late} == set()
    assert {key for key in case.get("in_time", []) if found.finding(key).late} == set()
    pairs = {(each.complaint.area, each.finding.key) for each in found.suspects}
    assert {tuple(pair) for pair in case.get("suspects", [])} <= pairs


def test_the_cases_cover_the_trade():
    """Sixty at least, every verdict several times, every group, every service, every horizon, rulings, doubt, bodies."""
    assert len(CASES) >= 60
    assert len({case["case"] for case in CASES}) == len(CASES)
    assert all(case["backing"] for case in CASES)
    verdicts = Counter(case["verdict"] for case in CASES)
    assert all(verdicts[verdict.value] >= 5 for verdict in Verdict), verdicts
    answered = {key for case in CASES for key in case.get("answers", {}) if key != "*"}
    assert {CATALOGUE.check(key).group for key in answered} == set(Group)
    assert {case.get("service", "full") for case in CASES} == set(SERVICES)
    assert {0, 1, 2, 3, 5, 7, 10, 14, 21} <= {case["days_left"] for case in CASES}
    rulings = {ruling for case in CASES for ruling in case.get("rulings", {}).values()}
    assert rulings == set(Ruling)
    assert any(case.get("late") for case in CASES)
    assert any("could_not" in case.get("answers", {}).values() for case in CASES)
    assert len({case.get("kind", "road") for case in CASES}) >= 5
    standards = [case for case in CASES if "no source" not in case["backing"]]
    assert len(standards) >= 15


def test_no_case_repeats_a_fact():
    """The trade facts are kept apart: no sentence stands in both."""
    facts = tomllib.loads((FIXTURES / "trade_facts.toml").read_text(encoding="utf-8"))["facts"]
    assert {case["case"] for case in CASES} & {fact["fact"] for fact in facts} == set()
