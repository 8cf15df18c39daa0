"""What is drawn around the measured points: true where it was measured, pale where it was not, never with a figure."""

import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings

from sessions.sheets.bike_facts import BikeFacts
from sessions.sheets.bike_points import side_points
from sessions.sheets.bike_view import bike_view
from sessions.sheets.boxes import item_points
from sessions.sheets.pdf_canvas import NIBS
from sessions.sheets.scene import Circle, Dimension, Line, Marker, Polyline, Text
from tests.core.sheet_examples import ROAD_AFTER, ROAD_BEFORE
from tests.strategies_drawing import bike_facts, small_moves, taped_bikes

STYLESHEET = Path(__file__).parents[2] / "static" / "css" / "scene.css"
TAPED_AFTER = {
    "bottom_bracket": (0.0, 0.0, 0.0),
    "saddle_nose": (-38.1, 633.6, 0.0),
    "saddle_datum": (-176.3, 636.0, 0.0),
    "hood_left": (421.0, 606.0, 0.0),
    "hood_right": (421.0, 606.0, 0.0),
    "hood_middle": (421.0, 606.0, 0.0),
    "floor": (0.0, -266.0, 0.0),
}
TAPED_BEFORE = {
    **TAPED_AFTER,
    "saddle_nose": (-30.2, 622.8, 0.0),
    "saddle_datum": (-167.8, 630.0, 0.0),
    "hood_left": (441.1, 590.0, 0.0),
    "hood_right": (435.1, 582.0, 0.0),
    "hood_middle": (438.1, 586.0, 0.0),
}
ROAD_BIKE = BikeFacts("drop", crank_before_mm=165.0, crank_after_mm=165.0)


def taped_view(facts=ROAD_BIKE, before=TAPED_BEFORE, after=TAPED_AFTER, **room):
    return bike_view(before, after, facts=facts, width_mm=184, height_mm=150, **room)


def main_items(view):
    """The items up to the first detail."""
    masks = [place for place, item in enumerate(view.scene.items) if getattr(item, "role", "") == "mask"]
    return view.scene.items[: masks[0]] if masks else view.scene.items


def of_role(view, role, kind=Polyline):
    return [item for item in main_items(view) if isinstance(item, kind) and item.role == role]


def bracket(view):
    """Where the bottom bracket lies on paper."""
    return next(item.at for item in view.scene.items if isinstance(item, Marker) and item.kind == "cross")


def on_bike(view, point):
    """A point on paper as millimetres of the bike."""
    x, y = bracket(view)
    return ((point[0] - x) * view.scale, (point[1] - y) * view.scale)


def extent(view, item):
    """Left, bottom, right and top of an item [mm of the bike]."""
    points = [on_bike(view, point) for point in item_points(item)]
    return (
        min(x for x, _ in points),
        min(y for _, y in points),
        max(x for x, _ in points),
        max(y for _, y in points),
    )


def test_the_common_set_of_readings_shows_saddle_bar_crank_and_both_positions():
    view = taped_view()
    assert len(of_role(view, "schematic")) > 4
    assert of_role(view, "before")
    assert len(of_role(view, "frame", Circle)) == 1
    words = {item.text for item in view.scene.items if isinstance(item, Text)}
    assert {"before", "after", "outline: schematic", "forward", "Scale 1 : 10"} <= words


def test_every_point_that_was_measured_has_its_mark_in_its_place():
    view = taped_view()
    for points, kind, role in ((TAPED_AFTER, "dot", "after"), (TAPED_BEFORE, "diamond", "before-mark")):
        marked = {on_bike(view, mark.at) for mark in of_role(view, role, Marker) if mark.kind == kind}
        for name in ("saddle_nose", "saddle_datum", "hood_middle"):
            assert min(math.dist(points[name][:2], at) for at in marked) < 0.01, (role, name)


def test_before_and_after_differ_in_shape_and_line_and_not_in_colour_alone():
    view = taped_view()
    assert {mark.kind for mark in of_role(view, "after", Marker)} == {"dot"}
    assert {mark.kind for mark in of_role(view, "before-mark", Marker)} == {"diamond"}
    assert NIBS["before"].dash_mm
    assert not NIBS["after"].dash_mm
    assert NIBS["before"].width_mm < NIBS["after"].width_mm
    assert re.search(r"\.scene-before \{[^}]*stroke-dasharray", STYLESHEET.read_text())


def test_the_line_over_the_saddle_is_true():
    view = taped_view()
    top = max(of_role(view, "after"), key=lambda line: len(line.points))
    ends = [on_bike(view, top.points[0]), on_bike(view, top.points[-1])]
    assert ends[0] == pytest.approx(TAPED_AFTER["saddle_datum"][:2], abs=0.01)
    assert ends[1] == pytest.approx(TAPED_AFTER["saddle_nose"][:2], abs=0.01)


def test_the_saddle_s_profile_leans_with_its_tilt_and_ends_at_the_nose():
    level = {**TAPED_AFTER, "saddle_nose": (-38.0, 636.0, 0.0), "saddle_datum": (-178.0, 636.0, 0.0)}
    drop = 140 * math.tan(math.radians(5))
    dipped = {**level, "saddle_nose": (-38.0, 636.0 - drop, 0.0)}
    for after, tail_lift in ((level, 0.0), (dipped, 122 * math.sin(math.radians(5)))):
        view = taped_view(before={}, after=after)
        saddle = max(of_role(view, "schematic"), key=lambda shape: -extent(view, shape)[0])
        left, _, right, top = extent(view, saddle)
        assert right == pytest.approx(-38, abs=4)
        assert left < -178 - 100
        assert top == pytest.approx(636 + 9 + tail_lift, abs=3)


def test_a_measured_tail_is_kept_to():
    view = bike_view({}, ROAD_AFTER)
    saddle = max(of_role(view, "schematic"), key=lambda shape: -extent(view, shape)[0])
    tail = ROAD_AFTER["saddle_tail"][:2]
    assert min(math.dist(tail, on_bike(view, point)) for point in saddle.points) < 0.01


@pytest.mark.parametrize("name", ["lever_tip", "drop"])
def test_the_bar_runs_through_what_was_measured_of_it(name):
    view = bike_view({}, ROAD_AFTER)
    wanted = side_points(ROAD_AFTER)[name]
    shapes = of_role(view, "schematic")
    reach = 13 if name == "drop" else 5  # half a bar's or half a lever's thickness
    assert min(math.dist(wanted, on_bike(view, point)) for shape in shapes for point in shape.points) < reach


@pytest.mark.parametrize(("bar", "least_mm", "most_mm"), [("drop", 90, 130), ("flat", 80, 120), ("aero", 90, 120)])
def test_each_kind_of_bar_has_an_outline_at_the_hands(bar, least_mm, most_mm):
    view = taped_view(BikeFacts(bar))
    hood = TAPED_AFTER["hood_middle"]
    shapes = [shape for shape in of_role(view, "schematic") if extent(view, shape)[0] > 200]
    forward = max(extent(view, shape)[2] for shape in shapes) - hood[0]
    nearest = min(math.dist(hood[:2], on_bike(view, point)) for shape in shapes for point in shape.points)
    assert 50 < forward < most_mm
    assert nearest < 20
    if bar == "drop":
        assert min(extent(view, shape)[1] for shape in shapes) < hood[1] - least_mm


def test_without_a_kind_of_bar_none_is_made_up():
    view = taped_view(BikeFacts())
    assert not [shape for shape in of_role(view, "schematic") if 200 < extent(view, shape)[0] < 500]
    assert not of_role(view, "ghost")


def test_pads_bring_their_extensions():
    pads = {name: (350.0, 660.0, side) for name, side in (("pad_left", -80.0), ("pad_right", 80.0))}
    view = taped_view(BikeFacts("aero"), before={}, after={**TAPED_AFTER, **pads})
    assert max(extent(view, shape)[2] for shape in of_role(view, "schematic")) > 350 + 350


def test_the_crank_turns_on_its_measured_length():
    view = taped_view(BikeFacts("drop", crank_before_mm=172.5, crank_after_mm=165.0))
    after, before = of_role(view, "frame", Circle), of_role(view, "before", Circle)
    assert [circle.radius_mm * view.scale for circle in after] == pytest.approx([165.0])
    assert [circle.radius_mm * view.scale for circle in before] == pytest.approx([172.5])
    assert view.letters["crank_length"] == "K"
    assert "165.0 (−7.5)" in {item.text for item in view.scene.items if isinstance(item, Text)}


def test_without_a_crank_length_there_is_no_circle():
    view = taped_view(BikeFacts("drop"))
    assert of_role(view, "frame", Circle) == []
    assert "crank_length" not in view.letters


def test_where_only_before_is_known_its_crank_is_drawn():
    view = taped_view(BikeFacts("drop", crank_before_mm=170.0, crank_after_mm=165.0), after={})
    assert [circle.radius_mm * view.scale for circle in of_role(view, "frame", Circle)] == pytest.approx([170.0])


@pytest.mark.parametrize(("fact", "radius_mm"), [(None, 340.0), (311.0, 311.0), (5.0, 340.0)])
def test_pale_wheels_stand_on_the_measured_floor(fact, radius_mm):
    view = taped_view(BikeFacts("drop", wheel_radius_mm=fact))
    rings = [shape for shape in of_role(view, "ghost") if len(shape.points) > 90 and extent(view, shape)[3] > 0]
    for ring in sorted(rings, key=lambda ring: extent(view, ring)[1])[:2]:
        left, bottom, right, top = extent(view, ring)
        assert bottom == pytest.approx(TAPED_AFTER["floor"][1], abs=1.0)
        assert (right - left, top - bottom) == pytest.approx((2 * radius_mm, 2 * radius_mm), abs=2.0)


@pytest.mark.parametrize(
    "changed",
    [
        {"floor": (0.0, -90.0, 0.0)},
        {"floor": (0.0, -266.0, 0.0), "hood_middle": (120.0, 606.0, 0.0)},
        {"saddle_datum": (-176.3, 240.0, 0.0), "saddle_nose": (-38.0, 240.0, 0.0)},
    ],
    ids=["floor too near", "bar over the cranks", "saddle too low"],
)
def test_what_is_no_likely_bike_gets_no_pale_one(changed):
    after = {**TAPED_AFTER, **changed}
    hood = after["hood_middle"]
    view = taped_view(BikeFacts("drop"), before={}, after={**after, "hood_left": hood, "hood_right": hood})
    assert of_role(view, "ghost") == []
    assert of_role(view, "schematic")


def test_facts_that_would_make_no_bike_are_passed_over():
    """A stem of 150 mm on a bike this short puts the wheel under the feet: the usual one is drawn instead."""
    assert of_role(taped_view(BikeFacts("drop", stem_length_mm=150.0, head_angle_deg=79.0)), "ghost")


def test_scale_goes_before_the_pale_bike():
    narrow = bike_view(TAPED_BEFORE, TAPED_AFTER, facts=ROAD_BIKE, width_mm=130, height_mm=150)
    assert narrow.scale == 10
    assert not [shape for shape in of_role(narrow, "ghost") if len(shape.points) > 90]


def test_a_saddle_of_which_only_the_datum_is_known_is_only_pale():
    after = {"bottom_bracket": (0.0, 0.0, 0.0), "saddle_datum": (-176.0, 636.0, 0.0)}
    view = taped_view(before=after, after=after, facts=BikeFacts("drop"))
    assert len(of_role(view, "ghost")) == 1
    assert of_role(view, "before") == []
    assert len(of_role(view, "schematic")) == 1  # the legend's own sample


@given(positions=small_moves(), facts=bike_facts)
@settings(max_examples=40)
def test_every_dimension_starts_from_measured_points(positions, facts):
    """What is only schematic never carries a figure."""
    view = bike_view(*positions, facts=facts, width_mm=184, height_mm=150)
    measured = side_points(positions[1]).values()
    for item in view.scene.items:
        if isinstance(item, Dimension):
            (x, y), second = (on_bike(view, point) for point in item.measured)
            from_floor = math.isclose(y, positions[1]["floor"][1], abs_tol=0.01)
            assert from_floor or min(math.dist((x, y), at) for at in measured) < 0.01
            assert min(math.dist(second, at) for at in measured) < 0.01


@given(after=taped_bikes(), facts=bike_facts)
@settings(max_examples=40)
def test_pale_and_schematic_areas_lie_under_all_that_was_measured(after, facts):
    items = bike_view({}, after, facts=facts, width_mm=184, height_mm=150).scene.items
    areas = [place for place, item in enumerate(items) if isinstance(item, Polyline) and item.role == "ghost"]
    solid = [
        place
        for place, item in enumerate(items)
        if isinstance(item, Dimension | Marker) or (isinstance(item, Line | Polyline) and item.role == "after")
    ]
    assert not areas or max(areas) < min(solid)


def test_the_legend_names_only_what_is_drawn():
    def words(view):
        return {item.text for item in view.scene.items if isinstance(item, Text)}

    assert "before" not in words(taped_view(before={}))
    two_points = {name: TAPED_AFTER[name] for name in ("bottom_bracket", "floor")}
    assert "outline: schematic" not in words(taped_view(BikeFacts(), before={}, after=two_points))


def test_a_wheel_s_line_breaks_where_a_label_stands():
    view = bike_view(ROAD_BEFORE, ROAD_AFTER, width_mm=184, height_mm=150)
    labels = [item for item in view.scene.items if isinstance(item, Text) and item.role == "label"]
    arcs = [item for item in view.scene.items if isinstance(item, Polyline) and item.role == "frame"]
    assert arcs
    for x, y in (point for arc in arcs for point in arc.points):
        assert not any(math.dist(label.at, (x, y)) < 0.3 for label in labels)
