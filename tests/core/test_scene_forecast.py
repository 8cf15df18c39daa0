"""The picture of the forecast: no probability is lost, and the slack stands where it ends."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.sheets.boxes import item_points
from sessions.sheets.forecast_view import BIN_MIN, binned, forecast_view
from sessions.sheets.scene import Line, Polyline, Text
from tests.strategies_drawing import pmfs

slacks = st.integers(0, 400)


@given(pmfs, slacks)
def test_bins_hold_the_whole_distribution(pmf, slack_min):
    bins = binned(pmf, slack_min)
    assert math.fsum(each.chance for each in bins) == pytest.approx(math.fsum(pmf))
    assert all(now.to_min == later.after_min for now, later in pairwise(bins))


@given(pmfs, slacks)
def test_what_lies_beyond_the_slack_is_told_apart(pmf, slack_min):
    bins = binned(pmf, slack_min)
    beyond = math.fsum(each.chance for each in bins if each.beyond)
    assert beyond == pytest.approx(math.fsum(pmf[slack_min + 1 :]), abs=1e-12)


def test_the_first_bin_is_the_chance_of_no_work():
    assert binned([0.4, 0.3, 0.3], 10)[0].chance == 0.4


def test_a_bin_cut_by_the_slack_is_drawn_at_its_chance_per_minute():
    flat = [0.0] + [0.01] * 100
    heights = [each.height for each in binned(flat, 33) if 0 < each.to_min <= 95]
    assert heights == pytest.approx([0.01 * BIN_MIN] * len(heights))


@pytest.mark.parametrize("slack_min", [0, 15, 30, 33, 120])
def test_the_slack_line_stands_at_its_minute_on_the_axis(slack_min):
    scene = forecast_view([0.5] + [0.5 / 60] * 60, slack_min)
    line = next(item for item in scene.items if isinstance(item, Line) and item.role == "slack")
    ticks = [item for item in scene.items if isinstance(item, Line) and item.role == "axis"][1:]
    minute_mm = (ticks[-1].start[0] - ticks[0].start[0]) / (BIN_MIN * (len(ticks) - 1))
    assert (line.start[0] - ticks[0].start[0]) / minute_mm == pytest.approx(slack_min, abs=1e-6)


def test_bars_inside_are_filled_and_bars_beyond_are_hatched():
    scene = forecast_view([0.02] * 50, 20)
    bars = [item for item in scene.items if isinstance(item, Polyline)]
    assert {(bar.role, bar.filled) for bar in bars} == {("bar", True), ("over", False)}
    assert any(isinstance(item, Line) and item.role == "hatch" for item in scene.items)


def test_hatching_stays_inside_its_bars():
    scene = forecast_view([0.02] * 50, 20)
    hatched = [item.points for item in scene.items if isinstance(item, Polyline) and item.role == "over"]
    left, right = min(x for bar in hatched for x, _ in bar), max(x for bar in hatched for x, _ in bar)
    for item in scene.items:
        if isinstance(item, Line) and item.role == "hatch":
            assert left - 1e-9 <= item.start[0] <= item.end[0] <= right + 1e-9


def test_the_description_gives_the_chance_to_run_to_plan():
    scene = forecast_view([0.75, 0.0, 0.25], 1)
    assert scene.description == "Chance that bench work fits into the slack of 1 minutes: 75 %."


def test_the_description_overstates_no_chance():
    """It says what the figures beside it say: 3.7 % is 3 %, never 4 %."""
    assert forecast_view([0.037, 0.963], 0).description.endswith(": 3 %.")


@given(st.lists(st.floats(), max_size=50), st.integers(-50, 5000))
def test_nonsense_is_drawn_inside_its_frame(pmf, slack_min):
    scene = forecast_view(pmf, slack_min)
    for stroke in scene.strokes():
        for x, y in item_points(stroke):
            assert -1e-6 <= x <= scene.width_mm + 1e-6
            assert -1e-6 <= y <= scene.height_mm + 1e-6
    assert any(isinstance(item, Text) for item in scene.items)
