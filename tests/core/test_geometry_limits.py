"""What is not believed is refused with a sentence that says what was probably meant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.geometry.body import BODY, body_warnings, can_be_body, check_body
from sessions.geometry.errors import BadSigmaError, MeasureError, NotANumberError, OutOfLimitsError, UnknownKeyError
from sessions.geometry.limits import Limits, check_limits, check_number, check_sigma, is_within

INSEAM = Limits(540.0, 1150.0)


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        (83.0, "83 looks like centimetres: that would be 830 mm."),
        (32.7, "32.7 looks like inches: that would be 830.6 mm."),
        (0.83, "0.83 looks like metres: that would be 830 mm."),
        (8300.0, "8300 looks like a digit too many: 830 mm would be possible."),
        (-830.0, "Is the sign right? 830 mm would be possible."),
        (1e7, ""),
        (0.0, ""),
    ],
)
def test_a_refusal_says_what_was_probably_meant(value, hint):
    with pytest.raises(OutOfLimitsError) as caught:
        check_limits("Inseam", value, INSEAM, key="inseam")
    assert caught.value.hint == hint
    assert caught.value.sentence.startswith("Inseam: ")
    assert caught.value.sentence.endswith(hint)
    assert "540 mm and 1150 mm" in caught.value.sentence
    assert (caught.value.key, caught.value.value, caught.value.low, caught.value.high) == (
        "inseam",
        value,
        540.0,
        1150.0,
    )


def test_an_angle_is_never_taken_for_centimetres():
    with pytest.raises(OutOfLimitsError) as caught:
        check_limits("Tilt", 250.0, Limits(-30.0, 30.0, "deg"))
    assert caught.value.hint == "250 looks like a digit too many: 25° would be possible."


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf"), "830", None, True, 10**400, 1j, [830]])
def test_what_is_no_ordinary_number_is_refused(value):
    with pytest.raises(NotANumberError) as caught:
        check_number("Inseam", value, key="inseam")
    assert caught.value.key == "inseam"


@pytest.mark.parametrize("sigma", [0, 0.0, -1.5, float("nan"), float("inf"), "1.5", None, True])
def test_an_uncertainty_of_zero_or_less_is_refused(sigma):
    with pytest.raises(BadSigmaError):
        check_sigma("Inseam", sigma)


@given(st.floats(allow_nan=True, allow_infinity=True))
def test_checking_and_asking_agree(value):
    try:
        accepted = check_limits("Inseam", value, INSEAM) == value
    except MeasureError:
        accepted = False
    assert accepted is is_within(value, INSEAM)


@given(st.sampled_from(sorted(BODY)), st.floats(allow_nan=True, allow_infinity=True))
def test_checking_and_asking_agree_on_bodies(key, value):
    try:
        check_body(key, value)
        accepted = True
    except MeasureError:
        accepted = False
    assert accepted is can_be_body(key, value)


def test_an_unknown_measure_is_named_as_such():
    with pytest.raises(UnknownKeyError):
        check_body("tail", 100.0)
    assert not can_be_body("tail", 100.0)


@pytest.mark.parametrize(
    ("measures", "keys"),
    [
        ({"stature": 1750.0, "inseam": 840.0}, []),
        ({"stature": 1750.0, "inseam": 690.0}, [("inseam", "stature")]),
        ({"stature": 1750.0, "inseam": 1010.0}, [("inseam", "stature")]),
        ({"inseam": 830.0, "thigh": 400.0, "shank": 300.0}, [("thigh", "shank", "inseam"), ("thigh", "shank")]),
        ({"inseam": 830.0, "trochanter_height": 790.0}, [("trochanter_height", "inseam")]),
        ({"stature": 1750.0}, []),
        ({}, []),
    ],
)
def test_measures_that_rarely_go_together_are_pointed_out(measures, keys):
    warnings = body_warnings(measures)
    assert [each.keys for each in warnings] == keys
    assert all("Measure both again" in each.sentence for each in warnings)


def test_a_warning_reads_like_a_sentence():
    (warning,) = body_warnings({"stature": 1750.0, "inseam": 1010.0})
    assert (
        warning.sentence
        == "Inseam is 0.58 of the stature; almost everyone lies between 0.40 and 0.57. Measure both again."
    )
