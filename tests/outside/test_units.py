"""Lengths typed in inches, against the exact definition of the inch and the factors that NIST prints."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.edge.units import NotALengthError, in_mm, parse_length_mm, registry, show_length

# NIST Special Publication 811 (2008), Appendix B.8, "Factors for units listed alphabetically": exact factors are in bold there.
# The inch is 2.54 E+01 mm exactly (Federal Register Notice of 1 July 1959). The figures are from memory; the definitions are exact.
NIST_SP_811 = [
    ("inch", "mm", 25.4, 0),
    ("foot", "m", 0.3048, 0),
    ("pound_force * inch", "newton * meter", 1.129848e-1, 5e-8),
    ("pound_force * foot", "newton * meter", 1.355818, 5e-7),
    ("kilogram_force * meter", "newton * meter", 9.80665, 0),
]


@pytest.mark.parametrize(("unit", "into", "factor", "rounding"), NIST_SP_811)
def test_conversion_factors_are_those_of_nist(unit, into, factor, rounding):
    """The registry behind our lengths and torques agrees with the printed factor to its last digit."""
    assert registry().Quantity(1, unit).to(into).magnitude == pytest.approx(factor, abs=rounding + 1e-12)


def test_an_inch_is_25_4_mm_exactly():
    """The one conversion that riders' lengths go through."""
    assert in_mm("in") == 25.4
    assert in_mm("cm") == 10.0
    assert in_mm("mm") == 1.0


@pytest.mark.parametrize(
    ("typed", "unit", "value_mm"),
    [
        ("12,5", "mm", 12.5),
        ("12.5 mm", "in", 12.5),
        ("1 1/2 in", "mm", 38.1),
        ('3/4"', "mm", 19.05),
        ("½", "in", 12.7),
        ("1⅛ in", "mm", 28.575),  # the steerer of 1⅛ in: 28.6 mm to the printed digit
        ("28.7 cm", "mm", 287.0),
        ("11/2 in", "mm", 139.7),
        ("-3", "mm", -3.0),
        ("−1/4 in", "mm", -6.35),
        ("  40  ", "mm", 40.0),
    ],
)
def test_what_a_person_types_becomes_millimetres(typed, unit, value_mm):
    """Point or comma, fraction or sign, with a unit or with the rider's own."""
    assert parse_length_mm(typed, unit) == pytest.approx(value_mm, abs=1e-6)


@pytest.mark.parametrize(
    "typed",
    [
        "",
        " ",
        "nan",
        "inf",
        "-inf",
        "1e9",
        "0x10",
        "1/0",
        "1 2",
        "12..5",
        "1,000.5",
        "abc",
        "12 miles",
        "<script>",
        "١٢x",
        "1" * 41,
        "\x00",
    ],
)
def test_what_is_not_a_length_is_refused_with_what_was_typed(typed):
    """Nothing odd becomes a number."""
    with pytest.raises(NotALengthError) as refused:
        parse_length_mm(typed)
    assert refused.value.typed == typed


@given(st.floats(-5000, 5000))
def test_inches_there_and_back(value_mm):
    """A length shown in inches and read again moves by no more than the shown digits."""
    shown = show_length(value_mm, "in")
    assert math.isclose(parse_length_mm(shown), value_mm, abs_tol=25.4 * 0.005 + 1e-5)


@given(st.text(max_size=50))
def test_no_text_breaks_the_reader(text):
    """Any text is a finite length or a refusal."""
    with contextlib.suppress(NotALengthError):
        assert math.isfinite(parse_length_mm(text))
