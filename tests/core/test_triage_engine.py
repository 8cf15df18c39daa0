"""The whole triage."""

from dataclasses import replace

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import COULD_NOT, Adjustment, BikeKind, Freedom
from intake.triage.advice import what_to_do
from intake.triage.answers import Answer, BikeFacts, Complaint, Ruling, TriageInput
from intake.triage.asking import asked_checks
from intake.triage.engine import triage
from intake.triage.errors import SlotError
from intake.triage.forecast import forecast
from tests import strategies
from tests.core.catalogues import check, fault, given, slot

SHIPPED = load_catalogue()


@drawn(strategies.triage_inputs())
def test_whatever_is_answered_a_triage_comes_of_it(drawn_input):
    """No answer, ruling, complaint or date raises anything, and all probabilities are probabilities."""
    found = triage(drawn_input)
    assert found.forecast.pmf.sum() == pytest.approx(1, abs=1e-9)
    assert 0 <= found.forecast.readiness_pct <= 100
    assert 0 <= found.forecast.chance <= 1
    assert all(0 <= finding.probability <= 1 for finding in found.findings)
    assert set(found.adjustments) == set(Adjustment)
    assert {each.check.key for each in found.unknowns} >= {each.check.key for each in found.questions}
    assert what_to_do(found) is not None


@drawn(strategies.triage_inputs())
def test_the_same_values_give_the_same_triage(drawn_input):
    """No clock, no chance, no memory."""
    assert triage(drawn_input) == triage(drawn_input)


@drawn(strategies.triage_inputs(), st.dictionaries(strategies.keys, strategies.answers))
def test_answers_to_checks_that_do_not_apply_change_nothing(drawn_input, others):
    """Neither those of another kind of bike, nor retired ones."""
    applying = {each.check.key for each in triage(drawn_input).questions} | {
        key for key in drawn_input.answers if key in {each.key for each in drawn_input.catalogue.checks}
    }
    known = {each.key for each in asked_checks(drawn_input.catalogue, drawn_input.bike, drawn_input.answers)}
    extra = {key: answer for key, answer in others.items() if key not in known | applying}
    assert triage(replace(drawn_input, answers=drawn_input.answers | extra)) == triage(drawn_input)


@drawn(strategies.triage_inputs(), st.data())
def test_a_certain_fault_instead_of_none_never_raises_readiness(drawn_input, data):
    """Fine turned into any fault leaves no more of the session, everything else being equal."""
    free = [each for each in drawn_input.catalogue.checks if each.faults and not (each.conditions or each.fact)]
    if not free:
        return
    one = data.draw(st.sampled_from(free))
    worse = data.draw(st.sampled_from(one.faults)).key
    others = tuple(replace(each, conditions=()) for each in drawn_input.catalogue.checks)
    even = replace(drawn_input, catalogue=replace(drawn_input.catalogue, checks=others))

    def readiness(option):
        found = triage(replace(even, answers=drawn_input.answers | {one.key: Answer(option)}))
        return found.forecast.readiness_pct, found.forecast.chance

    assert readiness(worse)[0] <= readiness("fine")[0] + 1e-9
    assert readiness(worse)[1] <= readiness("fine")[1] + 1e-12


def test_the_forecast_is_made_of_every_fault_that_applies():
    """Sure, likely and unknown ones, each by its probability."""
    first, second = fault("stuck", minutes=(40, 100)), fault("slip", rate=0.2, minutes=(10, 25))
    found = triage(given(check("post", first), check("gears", second), answers={"post": "stuck"}))
    assert found.forecast == forecast([[(1.0, first.minutes)], [(0.2, second.minutes)]], 120, 15)


def test_a_known_fact_of_the_bike_counts_without_being_asked():
    """Its fault is a finding, its check is not on the rider's pages."""
    cockpit = check("cockpit", fault("one_piece", limits=[Adjustment.BAR_REACH]), fact="cockpit")
    found = triage(given(cockpit, bike=BikeFacts(BikeKind.ROAD, {"cockpit": "one_piece"})))
    assert (found.asked, found.unknowns) == ((), ())
    assert found.adjustments[Adjustment.BAR_REACH].freedom is Freedom.LIMITED


def test_a_slot_that_cannot_be_is_refused():
    """Before anything is computed from it."""
    with pytest.raises(SlotError):
        triage(given(slot=slot(planned_min=0)))


# ── The shipped catalogue ────────────────────────────────────────────────────────────────────────────────────────────────


def shipped(answers, kind=BikeKind.ROAD, **other):
    """The triage of answers to the shipped catalogue."""
    return triage(TriageInput(SHIPPED, BikeFacts(kind), answers, (), slot(essential=Adjustment), **other))


def all_fine(kind):
    """The answers of a rider whose bike needs nothing, given page by page as they are asked."""
    answers = {}
    while open_ := [each for each in shipped(answers, kind).asked if each.key not in answers]:
        answers |= {each.key: Answer(_soundest(each)) for each in open_}
    return answers


def _soundest(one):
    return min(one.options, key=lambda option: sum(option.faults.values())).key


@pytest.mark.parametrize("kind", BikeKind)
def test_a_sound_bike_of_any_kind_is_clear(kind):
    """Nothing found, nothing unknown, readiness 100."""
    found = shipped(all_fine(kind), kind)
    assert (found.verdict, found.findings, found.unknowns) == ("clear", (), ())
    assert found.forecast.readiness_pct == 100


@pytest.mark.parametrize("kind", BikeKind)
def test_with_nothing_answered_the_rider_is_asked(kind):
    """Every check is unknown, and each has its worth."""
    found = shipped({}, kind)
    assert found.verdict == "ask_rider"
    assert len(found.questions) == len(found.asked) == len(found.unknowns)


@pytest.mark.parametrize("kind", [BikeKind.ROAD, BikeKind.TRIATHLON])
def test_every_single_answer_of_the_catalogue_can_be_judged_and_told(kind):
    """Each option and could-not, alone on a sound bike: never better than sound, always with a reason."""
    sound = all_fine(kind)
    for one in shipped(sound, kind).asked:
        for option in [*(each.key for each in one.options), COULD_NOT]:
            found = shipped(sound | {one.key: Answer(option)}, kind)
            assert found.forecast.readiness_pct <= 100
            assert found.reasons[0].text
            assert what_to_do(found).unknown == tuple(each.check.title for each in found.unknowns)


@settings(max_examples=40)
@drawn(st.data())
def test_random_answers_to_the_shipped_catalogue_never_raise(data):
    """Options mixed up between checks, odd lengths, rulings on anything, complaints anywhere."""
    keys = st.sampled_from([each.key for each in SHIPPED.checks])
    options = st.sampled_from(
        [option.key for each in SHIPPED.checks for option in each.options] + [COULD_NOT, "", "retired"]
    )
    lengths = st.dictionaries(st.sampled_from(["over_mm", "under_mm", "left_tip_mm"]), st.floats(), max_size=2)
    findings = st.sampled_from([f"{one.key}.{each.key}" for one in SHIPPED.checks for each in one.faults])
    areas = st.sampled_from([area.key for area in SHIPPED.areas])
    found = triage(
        TriageInput(
            SHIPPED,
            BikeFacts(data.draw(st.sampled_from(BikeKind))),
            data.draw(st.dictionaries(keys, st.builds(Answer, options, lengths), max_size=40)),
            tuple(data.draw(st.lists(st.builds(Complaint, areas, st.just("left"), st.integers(0, 10)), max_size=3))),
            data.draw(strategies.slots()),
            data.draw(st.dictionaries(findings, st.sampled_from(Ruling), max_size=6)),
        )
    )
    assert found.reasons
    assert what_to_do(found) is not None
