"""The side view and the view from behind: true to scale, nothing covers a label, whatever was measured."""

import math
from itertools import combinations, takewhile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.geometry.dimensions import dimensions
from sessions.sheets.bike_dimensions import SPECS
from sessions.sheets.bike_view import bike_view
from sessions.sheets.boxes import item_points, text_box
from sessions.sheets.front_view import front_view
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.scene import Circle, Dimension, Line, Polyline, Text
from tests.core.sheet_examples import (
    AERO_AFTER,
    AERO_BEFORE,
    ROAD_AFTER,
    ROAD_BEFORE,
    SADDLE_HEIGHT_MM,
    position,
)
from tests.strategies_drawing import bikes, likely_bikes, nonsense_points

TOUCH_MM = 1e-6


def labels(scene):
    return [item for item in scene.items if isinstance(item, Text)]


def collisions(scene):
    boxes = [(item.text, text_box(item).grown(-TOUCH_MM)) for item in labels(scene)]
    return [(one, other) for (one, a), (other, b) in combinations(boxes, 2) if a.overlaps(b)]


def outside(scene):
    page_points = [point for stroke in scene.strokes() for point in item_points(stroke)]
    page_points += [corner for item in labels(scene) for corner in _corners(text_box(item))]
    return [
        (x, y)
        for x, y in page_points
        if not (-TOUCH_MM <= x <= scene.width_mm + TOUCH_MM and -TOUCH_MM <= y <= scene.height_mm + TOUCH_MM)
    ]


def _corners(box):
    return ((box.left, box.bottom), (box.right, box.top))


def texts(scene):
    return {item.text for item in labels(scene)}


@pytest.mark.parametrize(("before", "after"), [(ROAD_BEFORE, ROAD_AFTER), (AERO_BEFORE, AERO_AFTER), ({}, ROAD_AFTER)])
@pytest.mark.parametrize("style", [NumberStyle("mm"), NumberStyle("in", ",")])
@pytest.mark.parametrize("width_mm", [186.0, 110.0])
def test_usual_bikes_are_drawn_with_every_label_free_and_inside(before, after, style, width_mm):
    view = bike_view(before, after, width_mm=width_mm, height_mm=150, style=style)
    assert view.scale == (10 if width_mm == 186.0 else 20)
    assert collisions(view.scene) == []
    assert outside(view.scene) == []


@given(before=likely_bikes(), after=likely_bikes(), width_mm=st.sampled_from([90.0, 186.0]))
@settings(max_examples=60)
def test_labels_never_cover_each_other_on_any_likely_bike(before, after, width_mm):
    view = bike_view(before, after, width_mm=width_mm)
    assert view.scale is not None
    assert collisions(view.scene) == []
    assert outside(view.scene) == []


@given(before=bikes(), after=bikes())
@settings(max_examples=120)
def test_labels_never_cover_each_other_wherever_the_points_are(before, after):
    scene = bike_view(before, after).scene
    assert collisions(scene) == []
    assert outside(scene) == []


@given(before=nonsense_points, after=nonsense_points)
@settings(max_examples=80)
def test_nonsense_is_drawn_or_explained_but_never_raises(before, after):
    view = bike_view(before, after)
    assert view.scene.items
    assert (view.scale is None) == (view.scale_text == "")
    front_view(before, after)


def test_saddle_height_is_drawn_to_scale():
    view = bike_view(ROAD_BEFORE, ROAD_AFTER)
    lengths = [math.dist(item.start, item.end) for item in view.scene.items if isinstance(item, Dimension)]
    assert min(abs(length * view.scale - SADDLE_HEIGHT_MM) for length in lengths) < 0.01


def test_every_figure_is_the_geometry_core_s_own():
    """The letters lead to rows of the table: key for key the values must be the same."""
    after = {each.key: each.value for each in dimensions(position(AERO_AFTER))}
    before = {each.key: each.value for each in dimensions(position(AERO_BEFORE))}
    view, style = bike_view(AERO_BEFORE, AERO_AFTER), NumberStyle()
    assert {"A", "B", "C", "D", "E", "F", "G", "H", "J", "K"} == set(view.letters.values())
    for key, letter in view.letters.items():
        unit = "deg" if key == "saddle_tilt" else "mm"
        change = style.value(unit, after[key] - before[key], signed=True)
        shown = style.value(unit, after[key]) + (f" ({change})" if change[0] in "+−" else "")
        assert shown in texts(view.scene), (letter, key)


def test_letters_are_unique_and_leave_out_those_that_read_as_figures():
    letters = [spec.letter for spec in SPECS]
    assert len(set(letters)) == len(letters)
    assert not {"I", "O"} & set(letters)


def main_view(scene):
    """The items of the view itself, without those of its details."""
    return list(takewhile(lambda item: item.role != "mask" if isinstance(item, Polyline) else True, scene.items))


def test_before_is_drawn_under_after():
    scene = bike_view(ROAD_BEFORE, ROAD_AFTER).scene
    roles = [item.role for item in main_view(scene) if isinstance(item, Polyline)]
    outlines = [role for role in roles if role in {"before", "after"}]
    assert outlines == sorted(outlines, key=["before", "after"].index)
    assert set(outlines) == {"before", "after"}


def test_without_an_after_the_before_is_drawn_as_the_only_position():
    view = bike_view(ROAD_BEFORE, {})
    assert view.scene == bike_view({}, ROAD_BEFORE).scene
    assert "before" not in texts(view.scene)


@pytest.mark.parametrize("points", [{}, {"bottom_bracket": (0, 0, 0)}, {"floor": (math.nan, 0, 0)}])
def test_with_nothing_to_draw_it_says_so(points):
    view = bike_view({}, points)
    assert view.scale is None
    assert view.letters == {}
    assert texts(view.scene) == {"No position has been measured yet."}


def test_wheels_reach_from_their_axle_to_the_floor():
    view = bike_view({}, ROAD_AFTER)
    wheels = [item for item in view.scene.items if isinstance(item, Circle) and item.role == "frame"]
    radii = sorted((wheel.radius_mm * view.scale for wheel in wheels), reverse=True)
    assert radii[:2] == pytest.approx([340, 340])
    without_floor = {name: at for name, at in ROAD_AFTER.items() if name != "floor"}
    assert not [
        item
        for item in bike_view({}, without_floor).scene.items
        if isinstance(item, Circle) and item.radius_mm * 10 > 200
    ]


def test_one_hood_alone_gives_no_reach():
    """The middle of the hoods is never guessed from one side."""
    one_sided = {name: at for name, at in ROAD_AFTER.items() if name != "hood_right"}
    assert set(bike_view({}, one_sided).letters) >= {"saddle_height", "hood_height_left"}
    assert not {"saddle_to_hood_reach", "nose_to_hood", "drop"} & set(bike_view({}, one_sided).letters)


def test_scale_bar_is_as_long_as_it_says():
    view = bike_view({}, ROAD_AFTER)
    bars = [item for item in view.scene.items if isinstance(item, Polyline) and item.role == "axis" and not item.filled]
    assert (bars[0].points[1][0] - bars[0].points[0][0]) * view.scale == pytest.approx(200)
    assert "200 mm" in texts(view.scene)
    inches = bike_view({}, ROAD_AFTER, style=NumberStyle("in"))
    bar = next(item for item in inches.scene.items if isinstance(item, Polyline) and item.role == "axis")
    assert (bar.points[1][0] - bar.points[0][0]) * inches.scale == pytest.approx(4 * 25.4)


def test_description_tells_what_the_eye_sees():
    description = bike_view(ROAD_BEFORE, ROAD_AFTER).scene.description
    assert "A Saddle height: 753.0 (+12.0) mm" in description
    assert "K Crank length: 172.5 mm" in description


def test_front_view_tells_the_higher_side_and_its_heights():
    view = front_view(ROAD_BEFORE, ROAD_AFTER)
    assert view.scene.description == "Left hood higher by 4.0 mm"
    assert {"946.0 (+24.0)", "942.0 (+32.0)"} <= texts(view.scene)
    assert collisions(view.scene) == []
    assert outside(view.scene) == []


def test_front_view_puts_left_on_the_left():
    view = front_view({}, ROAD_AFTER)
    level = next(item for item in view.scene.items if isinstance(item, Line) and item.role == "extension")
    letter = {item.text: item.at[0] for item in labels(view.scene)}
    assert level.start[0] < level.end[0]
    assert letter["L"] < letter["R"]


def test_front_view_of_level_hoods_says_so():
    level = {**ROAD_AFTER, "hood_left": (498.0, 672.0, -212.0)}
    assert front_view({}, level).scene.description == "Both hoods at the same height"


@pytest.mark.parametrize("missing", ["hood_left", "hood_right"])
def test_front_view_needs_both_hoods(missing):
    assert front_view({}, {name: at for name, at in ROAD_AFTER.items() if name != missing}) is None


def test_front_view_needs_to_know_how_far_apart_the_hoods_are():
    flat = {name: (x, y, 0.0) for name, (x, y, _) in ROAD_AFTER.items()}
    assert front_view({}, flat) is None


@given(before=bikes(), after=bikes())
@settings(max_examples=60)
def test_front_view_labels_never_cover_each_other(before, after):
    view = front_view(before, after)
    assert view is None or (collisions(view.scene) == [] and outside(view.scene) == [])
