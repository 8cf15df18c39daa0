"""Seatpost insertion against US law: 16 CFR 1512.15(b), 76 FR 27888."""

import pytest
from hypothesis import given

from sessions.geometry.errors import InsertionError, NotANumberError, OutOfLimitsError
from sessions.geometry.insertion import check_insertion, is_inserted, least_insertion
from tests.strategies_geometry import spread


@pytest.mark.parametrize(("diameter", "least"), [(27.2, 54.4), (30.9, 61.8), (31.6, 63.2), (25.4, 50.8)])
def test_without_a_mark_two_diameters_are_the_least(diameter, least):
    """16 CFR 1512.15(b): at least two post diameters; the 2.5 of quill stems does not apply."""
    found = least_insertion(diameter)
    assert found.least_mm == pytest.approx(least)
    assert "16 CFR 1512.15(b)" in found.source


@pytest.mark.parametrize("marked", [40.0, 54.4, 100.0])
def test_the_mark_always_wins_even_where_it_asks_for_less(marked):
    found = least_insertion(27.2, marked_mm=marked)
    assert found.least_mm == marked
    assert "mark" in found.source


def test_of_mark_and_frame_the_larger_counts():
    assert least_insertion(27.2, marked_mm=80.0, frame_mm=100.0).least_mm == 100.0
    assert least_insertion(27.2, marked_mm=110.0, frame_mm=100.0).least_mm == 110.0


def test_a_mast_or_an_unmarked_post_of_another_shape_has_no_general_rule():
    """16 CFR 1512.15(b) does not cover integrated masts."""
    with pytest.raises(InsertionError, match="not known"):
        least_insertion()


@pytest.mark.parametrize(("inserted", "inside"), [(54.4, True), (54.3, False), (80.0, True), (0.0, False)])
def test_the_limit_itself_is_inside(inserted, inside):
    assert is_inserted(inserted, least_insertion(27.2)) is inside


def test_a_post_that_is_out_too_far_says_by_how_much_and_that_it_is_not_ridden():
    with pytest.raises(InsertionError) as caught:
        check_insertion(40.0, least_insertion(27.2))
    assert caught.value.short_mm == pytest.approx(14.4)
    assert "14.4 mm further in" in caught.value.sentence
    assert "not ridden" in caught.value.sentence


@given(spread(22, 35), spread(0, 300))
def test_asking_and_checking_agree(diameter, inserted):
    least = least_insertion(diameter)
    try:
        spare = check_insertion(inserted, least)
    except InsertionError:
        assert not is_inserted(inserted, least)
    else:
        assert is_inserted(inserted, least)
        assert spare == pytest.approx(inserted - 2 * diameter, abs=1e-6)


@pytest.mark.parametrize(
    ("diameter", "error"), [(2.72, OutOfLimitsError), (272.0, OutOfLimitsError), (float("nan"), NotANumberError)]
)
def test_an_absurd_diameter_is_refused(diameter, error):
    with pytest.raises(error):
        least_insertion(diameter)


def test_an_absurd_insertion_is_refused():
    with pytest.raises(OutOfLimitsError):
        check_insertion(-5.0, least_insertion(27.2))
    assert not is_inserted(-5.0, least_insertion(27.2))
