"""Torques as printed: read in any usual spelling, never guessed where none is meant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.torque import IN_NEWTON_METRES, Torque, parse_torques, torque_hint

SPELLINGS = [
    ("5 Nm", Torque(5, 5, "N·m")),
    ("5N·m", Torque(5, 5, "N·m")),
    ("MAX 5,5 nm", Torque(5.5, 5.5, "N·m")),
    ("4-6 N.m", Torque(4, 6, "N·m")),
    ("35 to 40 newton metres", Torque(35, 40, "N·m")),
    ("44 in-lb", Torque(44, 44, "lbf·in")),
    ("45–60 lbf·in", Torque(45, 60, "lbf·in")),
    ("80 lb-in", Torque(80, 80, "lbf·in")),
    ("26 ft lbs", Torque(26, 26, "lbf·ft")),
    ("60 kgf·cm", Torque(60, 60, "kgf·cm")),
]


@pytest.mark.parametrize(("text", "expected"), SPELLINGS, ids=[text for text, _ in SPELLINGS])
def test_the_usual_spellings(text, expected):
    """As they stand on parts and in booklets."""
    assert parse_torques(text) == (expected,)


@pytest.mark.parametrize("text", ["", "hand-tight", "M5", "5 mm key", "5", "Nm", "see booklet p. 12", "5 Nmm", "🔧"])
def test_what_is_no_torque_stays_a_text(text):
    """Nothing is read into it."""
    assert parse_torques(text) == ()
    assert torque_hint(text) == ""


def test_both_units_are_told_only_where_they_disagree():
    """A rounded conversion is left alone; a wrong one is pointed out."""
    assert torque_hint("5 N·m (44 in-lb)") == ""
    assert torque_hint("5 N·m (64 in-lb)").startswith("The two printed figures do not agree: 5 N·m is 44.3 lbf·in")


@given(st.floats(0.1, 999), st.sampled_from(sorted(IN_NEWTON_METRES)))
def test_there_and_back(value, unit):
    """Converting into any unit and back gives the same torque."""
    torque = Torque(value, value, unit)
    assert torque.low_nm / IN_NEWTON_METRES[unit] == pytest.approx(value)


@given(st.text(max_size=60))
def test_no_text_breaks_it(text):
    """Whatever was typed."""
    assert all(each.low >= 0 for each in parse_torques(text))
    assert isinstance(torque_hint(text), str)
