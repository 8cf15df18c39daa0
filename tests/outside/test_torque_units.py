"""Torque units and one maker's printed figures, against published values."""

import pytest

from sessions.torque import IN_NEWTON_METRES, Torque, parse_torques, torque_hint

POUND_FORCE_N = 4.4482216152605  # exact: 0.453 592 37 kg × 9.806 65 m/s², NIST SP 811 (2008), appendix B.8
INCH_M = 0.0254  # exact, the same


@pytest.mark.parametrize(
    ("unit", "newton_metres"),
    [
        # NIST SP 811 (2008), appendix B.8: "pound-force inch" 1.129 848 E−01, "pound-force foot" 1.355 818 E+00.
        ("lbf·in", 0.1129848),
        ("lbf·ft", 1.355818),
        # kilogram-force metre 9.806 65 E+00, here by the centimetre.
        ("kgf·cm", 0.0980665),
    ],
)
def test_units_as_published(unit, newton_metres):
    """To the digits that are printed there."""
    assert IN_NEWTON_METRES[unit] == newton_metres


def test_units_from_their_exact_definitions():
    """Independent of the table: force times length."""
    assert IN_NEWTON_METRES["lbf·in"] == pytest.approx(POUND_FORCE_N * INCH_M, rel=1e-6)
    assert IN_NEWTON_METRES["lbf·ft"] == pytest.approx(POUND_FORCE_N * 12 * INCH_M, rel=1e-6)
    assert IN_NEWTON_METRES["kgf·cm"] == pytest.approx(9.80665 / 100, rel=1e-12)


def test_a_makers_own_two_figures_that_do_not_agree():
    """A bicycle maker's 2002 owner's guide prints a seatpost binder bolt as 80–125 lb·in (9.6–14.1 N·m); 80 lbf·in is 9.04 N·m."""
    pounds, newtons = parse_torques("80–125 lb·in (9.6–14.1 N·m)")
    assert pounds.low_nm == pytest.approx(9.04, abs=0.005)
    assert pounds.high_nm == pytest.approx(14.1, abs=0.05)
    assert newtons == Torque(9.6, 14.1, "N·m")
    assert "80 lbf·in is 9.0 N·m, not 9.6 N·m" in torque_hint("80–125 lb·in (9.6–14.1 N·m)")


def test_the_same_guides_saddle_clamp():
    """It starts a two-bolt 4 mm clamp at 45–60 lbf·in: 5.1–6.8 N·m."""
    assert torque_hint("45-60 lbf·in") == "= 5.1–6.8 N·m"
