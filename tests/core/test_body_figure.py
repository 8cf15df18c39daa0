"""The figure of the body: every area is on it, no callout covers another, and a thumb finds each."""

from itertools import combinations

import pytest

from intake.catalogue.loader import load_catalogue
from intake.edge.body_figure import CENTRE, HEIGHT, WIDTH, back_view, front_view

TARGET_WIDTH, TARGET_HEIGHT = 112, 50
PHONE_DRAWING_PX = 334  # a phone of 390 px less the page's and the drawing's own margins
LEAST_TAP_PX = 24  # WCAG 2.2, success criterion 2.5.8; the list under the figure has rows of 44 px and more

views = pytest.mark.parametrize("callouts", [front_view(), back_view()], ids=["front", "back"])


def test_every_area_of_the_catalogue_is_on_the_figure():
    """An area that is added to the catalogue must be drawn, on each side it is asked for."""
    drawn = {(callout.area, callout.side) for callout in front_view() + back_view()}
    asked = {
        (area.key, side) for area in load_catalogue().areas for side in (("left", "right") if area.sided else ("",))
    }
    assert drawn == asked


@views
def test_no_callout_covers_another(callouts):
    """The areas to tap lie apart and inside the drawing."""
    for callout in callouts:
        assert 0 <= callout.row_top <= HEIGHT - TARGET_HEIGHT
        assert 0 <= callout.target_x <= WIDTH - TARGET_WIDTH
        assert abs(callout.balloon_x - CENTRE) < WIDTH / 2
    for one, other in combinations(callouts, 2):
        apart = abs(one.row_y - other.row_y) >= TARGET_HEIGHT
        assert one.toward != other.toward or apart


@views
def test_a_callout_is_large_enough_on_a_phone(callouts):
    """On the narrowest drawing the area to tap is well above the least size."""
    assert TARGET_HEIGHT * PHONE_DRAWING_PX / WIDTH >= 1.75 * LEAST_TAP_PX


def test_sides_are_the_riders_own():
    """Facing the reader the rider's right is on the left of the drawing; from behind it is on the right."""
    assert {callout.side for callout in front_view() if callout.toward < 0} == {"right"}
    assert {callout.side for callout in back_view() if callout.toward > 0} == {"right", ""}
    for callout in front_view():
        assert (callout.spot_x < CENTRE) == (callout.side == "right")
    for callout in back_view():
        assert (callout.spot_x > CENTRE) == (callout.side == "right")


@views
def test_labels_fit_beside_their_balloon(callouts):
    """Even the longest label takes no more than three lines, which fit the callout's own height."""
    labels = {area.key: area.label for area in load_catalogue().areas}
    for callout in callouts:
        lines = callout.lines(labels[callout.area])
        assert len(lines) <= 3
        assert " ".join(text for _y, text in lines) == labels[callout.area]
        assert lines[0][0] - 12 >= callout.row_top
        assert lines[-1][0] <= callout.row_top + TARGET_HEIGHT
