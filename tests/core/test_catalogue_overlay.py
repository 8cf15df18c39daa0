"""An owner's changes over the shipped catalogue: they fit and are asked, or are refused by key."""

import copy
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.catalogue import errors
from intake.catalogue.changes import changes
from intake.catalogue.errors import CatalogueError
from intake.catalogue.loader import load_catalogue, shipped_document
from intake.catalogue.overlay import overlaid, without_misfits
from intake.catalogue.schema import BikeKind, Hazard
from intake.triage.answers import BikeFacts, Slot, TriageInput, WorkingDays
from intake.triage.engine import triage

BASE = shipped_document()
KEYS = [check["key"] for check in BASE["checks"]]
SLOT = Slot(105, 15, frozenset(), date(2026, 12, 16), date(2026, 12, 2), WorkingDays(frozenset(range(5))))
OWN = {
    "key": "own_rack",
    "group": "whole",
    "title": "Rack",
    "question": "Is a rack fitted?",
    "why": "It is in the way of the measuring.",
    "steps": ["Look behind the saddle."],
    "tools": [],
    "home_min": 1.0,
    "options": [{"key": "answer_1", "label": "No"}, {"key": "answer_2", "label": "Yes", "faults": {"fault": 1.0}}],
    "faults": [
        {
            "key": "fault",
            "title": "Rack fitted",
            "rider_text": "It has to come off.",
            "rate": 0.1,
            "remedies": ["own_rack_remedy"],
        }
    ],
}
OWN_REMEDY = {"key": "own_rack_remedy", "who": "rider", "title": "Take it off", "detail": "Two bolts.", "lead_days": 1}


def refused(overlay, base=BASE):
    """The problems for which an overlay is refused, by key."""
    with pytest.raises(CatalogueError) as caught:
        overlaid(base, overlay)
    return {problem.key: problem for problem in caught.value.problems}


def judged(catalogue):
    """The triage of a road bike of which nothing is known."""
    return triage(TriageInput(catalogue, BikeFacts(BikeKind.ROAD), {}, (), SLOT))


def test_no_changes_are_the_shipped_catalogue():
    """Whatever was shipped reaches the studio as it is, and the version tells nothing of an edition."""
    assert overlaid(BASE, {}) == load_catalogue()
    assert overlaid(BASE, {}, 7).version == f"{load_catalogue().version}+7"


def test_words_and_figures_are_changed_and_nothing_else():
    """One title, one answer, one rate, one pair of minutes."""
    gears = load_catalogue().check("gears")
    fault, option = gears.faults[0], gears.options[0]
    edit = {
        "title": "Gears and chain",
        "steps": ["Turn the cranks."],
        "options": {option.key: {"label": "They shift"}},
        "faults": {fault.key: {"rate": 0.33, "minutes": {"median_min": 7, "p90_min": 9}}},
    }
    made = overlaid(BASE, {"checks": {"gears": edit}}, 1)
    assert (made.check("gears").title, made.check("gears").steps) == ("Gears and chain", ("Turn the cranks.",))
    assert made.check("gears").options[0].label == "They shift"
    assert made.check("gears").faults[0].rate == 0.33
    assert made.check("gears").faults[0].minutes.p90_min == 9
    assert made.check("gears").faults[0].remedies == fault.remedies
    assert [each for each in made.checks if each.key != "gears"] == [
        each for each in load_catalogue().checks if each.key != "gears"
    ]


def test_a_check_of_ones_own_is_asked_and_reckoned_with():
    """It has its remedy, and the triage asks it like any other."""
    made = overlaid(BASE, {"own_checks": [OWN], "own_remedies": [OWN_REMEDY]}, 1)
    result = judged(made)
    assert "own_rack" in {check.key for check in result.asked}
    assert result.forecast.expected_min >= judged(load_catalogue()).forecast.expected_min


@pytest.mark.parametrize("check", load_catalogue().checks, ids=lambda check: check.key)
def test_what_can_hurt_is_never_switched_off(check):
    """Every shipped check is either safe to leave out, or refused with the reason and its own key."""
    harmful = any(fault.hazard is not Hazard.NONE for fault in check.faults)
    waited_for = [
        other.key
        for other in load_catalogue().checks
        if any(condition.subject == f"answer.{check.key}" for condition in other.conditions)
    ]
    if harmful:
        assert isinstance(refused({"off": [check.key]})[check.key], errors.SafetyCheckError)
    elif waited_for:
        problem = refused({"off": [check.key]})[check.key]
        assert isinstance(problem, errors.NeededByOthersError)
        assert list(problem.needed_by) == waited_for
        assert all(name in str(problem) for name in waited_for)
    else:
        made = overlaid(BASE, {"off": [check.key]})
        assert check.key not in {each.key for each in made.checks}
        assert judged(made)


@pytest.mark.parametrize(
    ("overlay", "kind", "key"),
    [
        ([], errors.WrongValueError, "overlay"),
        ({"offf": []}, errors.UnknownFieldError, "offf"),
        ({"off": ["no_such"]}, errors.VanishedError, "no_such"),
        ({"checks": {"no_such": {}}}, errors.VanishedError, "no_such"),
        ({"checks": {"gears": {"options": {"no_such": {}}}}}, errors.VanishedError, "gears.no_such"),
        ({"checks": {"gears": {"hazard": "none"}}}, errors.UnknownFieldError, "gears.hazard"),
        ({"checks": {"gears": {"title": " "}}}, errors.WrongValueError, "gears.title"),
        ({"checks": {"gears": {"home_min": 10**400}}}, errors.WrongValueError, "gears.home_min"),
        ({"checks": {"gears": {"home_min": 9999}}}, errors.OutOfRangeError, "gears.home_min"),
        ({"own_checks": [OWN]}, errors.UnknownReferenceError, "own_rack.fault"),
        ({"own_checks": [OWN, OWN], "own_remedies": [OWN_REMEDY]}, errors.DuplicateKeyError, "own_rack"),
        ({"own_checks": [OWN | {"key": "gears"}], "own_remedies": [OWN_REMEDY]}, errors.WrongValueError, "gears"),
        ({"own_checks": [OWN | {"key": "own_" + "x" * 60}]}, errors.WrongValueError, "own_" + "x" * 60),
        ({"own_remedies": [OWN_REMEDY | {"lead_days": 999}]}, errors.OutOfRangeError, "own_rack_remedy.lead_days"),
    ],
)
def test_each_mistake_is_named_by_its_key(overlay, kind, key):
    """A slip in an overlay says what and where."""
    assert isinstance(refused(overlay)[key], kind)


@pytest.mark.parametrize(
    ("fault", "kind", "key"),
    [
        ({"rate": 1.5}, errors.OutOfRangeError, "own_rack.fault.rate"),
        ({"remedies": []}, errors.NoRemedyError, "own_rack.fault"),
        ({"remedies": ["no_such"]}, errors.UnknownReferenceError, "own_rack.fault"),
        ({"minutes": {"median_min": 9, "p90_min": 3}}, errors.LimitsReversedError, "own_rack.fault.minutes"),
        ({"minutes": {"median_min": 9, "p90_min": 1e9}}, errors.OutOfRangeError, "own_rack.fault.minutes.p90_min"),
        ({"hazard": "do_not_ride"}, errors.RiderOnlyHazardError, "own_rack.fault"),
    ],
)
def test_an_own_fault_meets_the_shipped_rules(fault, kind, key):
    """A missing remedy, an absurd prior, a danger left to the rider."""
    own = copy.deepcopy(OWN)
    own["faults"][0] |= fault
    assert isinstance(refused({"own_checks": [own], "own_remedies": [OWN_REMEDY]})[key], kind)


def test_an_own_circle_is_spelt_out():
    """A check that waits for its own answer is refused."""
    own = OWN | {"conditions": [{"subject": "answer.own_rack", "among": ["answer_1"]}]}
    problem = refused({"own_checks": [own], "own_remedies": [OWN_REMEDY]})["own_rack"]
    assert isinstance(problem, errors.ConditionCycleError)


def test_an_update_that_drops_an_edited_check_is_noticed_and_mended():
    """The vanished key is named; what still fits stays."""
    smaller = {**BASE, "checks": [check for check in BASE["checks"] if check["key"] != "gears"]}
    overlay = {"off": ["cleanliness", "gears"], "checks": {"gears": {"title": "x"}, "crash": {"title": "Falls"}}}
    assert isinstance(refused(overlay, smaller)["gears"], errors.VanishedError)
    mended = without_misfits(smaller, overlay)
    assert mended == {"off": ["cleanliness"], "checks": {"crash": {"title": "Falls"}}}
    assert overlaid(smaller, mended).check("crash").title == "Falls"


def test_differences_are_said_in_words():
    """What was switched, reworded, re-reckoned and added, each once."""
    fault = load_catalogue().check("gears").faults[0]
    after = {
        "off": ["cleanliness"],
        "checks": {"gears": {"title": "Gears and chain", "faults": {fault.key: {"rate": 0.5}}}},
        "own_checks": [OWN],
        "own_remedies": [OWN_REMEDY],
    }
    found = {(change.key, change.what): (change.before, change.after) for change in changes(BASE, {}, after)}
    assert found == {
        ("cleanliness", "switched off"): ("", ""),
        ("gears", "title"): (load_catalogue().check("gears").title, "Gears and chain"),
        ("gears", f"fault “{fault.key}”: share of riders"): (f"{100 * fault.rate:g} %", "50 %"),
        ("own_rack", "added by the studio"): ("", ""),
    }
    assert changes(BASE, after, after) == ()


# ── Anything at all ──────────────────────────────────────────────────────────────────────────────────────────────────────

scraps = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
anything = st.recursive(
    scraps,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
figures = st.floats() | st.integers(-5, 2000) | st.sampled_from([0, 1, 0.5, 10**400, "5", None])
words = st.sampled_from(["A title", "", " ", "\u200f", None, 7]) | st.text(max_size=10)
keys = st.sampled_from([*KEYS, "own_rack", "own_other", "no_such"])


def some(names, values):
    """A table with some of these names."""
    return st.fixed_dictionaries({}, optional=dict.fromkeys(names, values))


fault_edits = st.fixed_dictionaries(
    {}, optional={"title": words, "rate": figures, "minutes": some(["median_min", "p90_min"], figures)}
)
edits = st.fixed_dictionaries(
    {},
    optional={
        "title": words,
        "question": words,
        "steps": st.lists(words, max_size=3),
        "tools": st.lists(words, max_size=2),
        "home_min": figures,
        "faults": st.dictionaries(st.sampled_from(["fault", "stuck", "yes", "seized"]), fault_edits, max_size=2),
        "options": st.dictionaries(st.sampled_from(["fine", "no", "stuck"]), some(["label"], words), max_size=2),
    },
)
own_faults = st.builds(
    lambda change: OWN["faults"][0] | change,
    st.fixed_dictionaries(
        {},
        optional={
            "rate": figures,
            "minutes": some(["median_min", "p90_min"], figures),
            "hazard": st.sampled_from([each.value for each in Hazard] + ["nonsense"]),
            "remedies": st.lists(st.sampled_from(["own_rack_remedy", "workshop_gears", "no_such"]), max_size=2),
            "effects": st.dictionaries(
                st.sampled_from(["saddle_height", "nonsense"]), st.sampled_from(["locked", "free", 3])
            ),
        },
    ),
)
own_checks = st.builds(lambda key, fault, more: OWN | {"key": key, "faults": [fault]} | more, keys, own_faults, edits)
own_remedies = st.builds(lambda days: OWN_REMEDY | {"lead_days": days}, figures)
overlays = st.fixed_dictionaries(
    {},
    optional={
        "off": st.lists(keys, max_size=3),
        "checks": st.dictionaries(keys, edits, max_size=3),
        "own_checks": st.lists(own_checks, max_size=2),
        "own_remedies": st.lists(own_remedies, max_size=1),
    },
)


@settings(max_examples=60)
@given(overlays | anything | some(["off", "checks", "own_checks", "own_remedies"], anything))
def test_any_overlay_is_refused_by_key_or_judged(overlay):
    """There is no third way: no other error, and no catalogue that the triage cannot use."""
    problems = ()
    try:
        result = judged(overlaid(BASE, overlay, 1))
    except CatalogueError as error:
        problems = error.problems
    assert all(problem.key and problem.sentence for problem in problems)
    if not problems:
        assert 0 <= result.forecast.chance <= 1
        assert 0 <= result.forecast.readiness_pct <= 100
