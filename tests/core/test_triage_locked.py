"""The locked map."""

from math import prod

import pytest
from hypothesis import given as drawn
from hypothesis import settings

from intake.catalogue.schema import Adjustment, Freedom, NumberField, NumberRule
from intake.triage.answers import Answer
from intake.triage.engine import triage
from tests import strategies
from tests.core.catalogues import check, fault, given, maybe

HEIGHT, TILT, REACH = Adjustment.SADDLE_HEIGHT, Adjustment.SADDLE_TILT, Adjustment.BAR_REACH


def state(*checks, adjustment=HEIGHT, **answers):
    """The state of one adjustment."""
    return triage(given(*checks, answers=answers)).adjustments[adjustment]


def test_every_adjustment_has_a_state():
    """With nothing found all are free, and the service's own are marked."""
    adjustments = triage(given()).adjustments
    assert set(adjustments) == set(Adjustment)
    assert {each.freedom for each in adjustments.values()} == {Freedom.FREE}
    assert [each.adjustment for each in adjustments.values() if each.essential] == [HEIGHT]
    assert {each.chance_locked for each in adjustments.values()} == {0.0}


def test_locked_beats_limited_beats_free():
    """And each names the findings that did it, the strongest first."""
    limits = check("mast", fault("mast", limits=[HEIGHT]))
    locks = check("post", fault("stuck", locks=[HEIGHT]))
    both = state(limits, locks, mast="mast", post="stuck")
    assert (both.freedom, both.because) == (Freedom.LOCKED, ("post.stuck", "mast.mast"))
    assert state(limits, locks, mast="mast", post="fine").freedom is Freedom.LIMITED
    assert state(limits, locks, mast="fine", post="fine").freedom is Freedom.FREE


def test_a_likely_finding_locks_possibly():
    """With its probability, and what sure findings leave stays apart."""
    post = check("post", fault("stuck", locks=[HEIGHT]), options=(maybe("creaks", stuck=0.4),))
    found = state(post, post="creaks")
    assert (found.freedom, found.possibly) == (Freedom.FREE, Freedom.LOCKED)
    assert found.chance_locked == pytest.approx(0.4)
    assert found.because == ("post.stuck",)


def test_chances_add_within_a_check_and_multiply_across():
    """1 − (1 − 0.3 − 0.2)(1 − 0.25), unanswered checks by their rates."""
    post = check(
        "post",
        fault("stuck", locks=[HEIGHT]),
        fault("seized", locks=[HEIGHT]),
        options=(maybe("creaks", stuck=0.3, seized=0.2),),
    )
    clamp = check("clamp", fault("rounded", rate=0.25, locks=[HEIGHT]), fault("stiff", rate=0.5, limits=[HEIGHT]))
    found = state(post, clamp, post="creaks")
    assert found.chance_locked == pytest.approx(1 - 0.5 * 0.75)
    assert found.chance_limited == pytest.approx(1 - 0.5 * 0.25)
    assert found.because == ("post.stuck", "post.seized")


def test_two_faults_that_lengths_show_both_hold():
    """No spacers over and none under limit both ways."""
    up, down = Adjustment.BAR_HEIGHT_UP, Adjustment.BAR_HEIGHT_DOWN
    spacers = check(
        "spacers",
        fault("none_over", limits=[up]),
        fault("none_under", limits=[down]),
        numbers=tuple(NumberField(key, key, 0, 80, "No.") for key in ("over_mm", "under_mm")),
        rules=tuple(NumberRule(f"none_{side}", f"{side}_mm", at_most_mm=2) for side in ("over", "under")),
    )
    found = triage(given(spacers, answers={"spacers": Answer("", {"over_mm": 0, "under_mm": 0})})).adjustments
    assert (found[up].freedom, found[down].freedom) == (Freedom.LIMITED, Freedom.LIMITED)
    assert found[up].chance_limited == 1


@settings(max_examples=60)
@drawn(strategies.triage_inputs())
def test_chances_are_probabilities_and_agree_with_freedom(drawn_input):
    """Locked is never likelier than limited-or-locked; a sure lock has chance one; the map follows the findings."""
    found = triage(drawn_input)
    for each in found.adjustments.values():
        assert -1e-12 <= each.chance_locked <= each.chance_limited + 1e-12 <= 1 + 1e-9
        assert each.freedom <= each.possibly
        assert (each.freedom < Freedom.LOCKED) or each.chance_locked == pytest.approx(1)
        certain = prod(
            1 - f.holding for f in found.findings if f.sure and f.effects.get(each.adjustment) is Freedom.LOCKED
        )
        assert (each.freedom is Freedom.LOCKED) is (certain < 0.5)
