"""Details: small moves at full size or half of it, to their own scale, hiding nothing that was measured."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings

from sessions.sheets.bike_detail import SCALES, details
from sessions.sheets.bike_facts import BikeFacts
from sessions.sheets.bike_view import bike_view
from sessions.sheets.boxes import Box, item_points, segment_box, text_box
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.scene import Circle, Dimension, Line, Marker, Polyline, Text
from tests.core.test_scene_outline import TAPED_AFTER, TAPED_BEFORE, on_bike
from tests.strategies_drawing import bike_facts, small_moves

ROOM = {"width_mm": 184.0, "height_mm": 150.0}
RIM_MM = 0.02


def moved_by(dx, dy, *names):
    """The usual bike with some points as they were before a move."""
    return {
        name: (x - dx, y - dy, z) if name.startswith(names) else (x, y, z) for name, (x, y, z) in TAPED_AFTER.items()
    }


def view_of(before, after=TAPED_AFTER, **kw):
    return bike_view(before, after, facts=kw.pop("facts", BikeFacts("drop")), **{**ROOM, **kw})


def circles(view):
    """The rims of the details, each with everything that is drawn in it."""
    items = view.scene.items
    starts = [place for place, item in enumerate(items) if getattr(item, "role", "") == "mask"]
    found = []
    for start in starts:
        end = next(place for place in range(start, len(items)) if isinstance(items[place], Circle))
        found.append((items[end], items[start + 1 : end]))
    return found


def captions(view):
    bold = [item.text for item in view.scene.items if isinstance(item, Text) and item.role == "balloon"]
    return [text for text in bold if " : " in text]


def move_in(content):
    """From the diamond before to the dot after, on paper."""
    marks = {item.kind: item.at for item in content if isinstance(item, Marker)}
    return (marks["dot"][0] - marks["diamond"][0], marks["dot"][1] - marks["diamond"][1])


def test_a_move_of_8_mm_is_8_mm_on_paper():
    view = view_of(moved_by(6.4, 4.8, "saddle"))
    [(_, content)] = circles(view)
    assert move_in(content) == pytest.approx((6.4, 4.8))
    assert captions(view) == ["X saddle nose 1 : 1"]
    assert "X saddle nose 1 : 1" in view.scene.description


@pytest.mark.parametrize(
    ("move_mm", "scale"), [(0.4, None), (0.6, 1), (21.0, 1), (22.0, 2), (43.0, 2), (44.0, None), (300.0, None)]
)
def test_a_detail_is_as_large_as_the_move_allows_and_never_beyond_full_size(move_mm, scale):
    found = list(details({"hood": (430.0, 600.0)}, {"hood": (430.0, 600.0 + move_mm)}, 10, 18.0))
    assert [detail.scale for detail in found] == ([scale] if scale else [])
    assert min(SCALES) == 1


def test_a_detail_must_show_much_more_than_the_main_view():
    assert not list(details({"hood": (430.0, 600.0)}, {"hood": (430.0, 606.0)}, 2, 18.0))
    assert list(details({"hood": (430.0, 600.0)}, {"hood": (430.0, 606.0)}, 5, 18.0))


def test_only_what_moved_gets_a_detail():
    assert circles(view_of(TAPED_AFTER)) == []
    assert circles(view_of({})) == []
    assert captions(view_of(moved_by(0, 9, "hood"))) == ["Y hands 1 : 1"]


def test_where_the_nose_stayed_the_datum_is_looked_at():
    assert captions(view_of(moved_by(3, 3, "saddle_datum"))) == ["X saddle 1 : 1"]


def test_pads_have_a_detail_of_their_own():
    pads = {f"pad_{side}": (350.0, 660.0, z) for side, z in (("left", -80.0), ("right", 80.0))}
    before = {**TAPED_AFTER, **{name: (x - 10, y + 5, z) for name, (x, y, z) in pads.items()}}
    view = view_of(before, {**TAPED_AFTER, **pads}, facts=BikeFacts("aero"))
    assert captions(view) == ["Z pads 1 : 1"]


def test_a_circle_in_the_main_view_marks_the_same_stretch_and_bears_the_same_letter():
    view = view_of(TAPED_BEFORE)
    balloons = [item for item in view.scene.items if isinstance(item, Circle) and item.role == "balloon"]
    for (rim, _), caption, name in zip(circles(view), captions(view), ("saddle_nose", "hood_middle"), strict=True):
        scale = int(caption[-1])
        (bx, by, _), (ax, ay, _) = TAPED_BEFORE[name], TAPED_AFTER[name]
        middle = ((ax + bx) / 2, (ay + by) / 2)
        marked = min(balloons, key=lambda each: math.dist(on_bike(view, each.centre), middle))
        assert math.dist(on_bike(view, marked.centre), middle) < 0.01
        assert marked.radius_mm * view.scale == pytest.approx(rim.radius_mm * scale)
    letters = [item.text for item in view.scene.items if isinstance(item, Text) and item.text in {"X", "Y"}]
    assert sorted(letters) == ["X", "Y"]


@pytest.mark.parametrize(
    ("unit", "move_mm", "paper_mm", "words"),
    [
        ("mm", 9, 5.0, "squares of 5 mm"),
        ("mm", 30, 5.0, "squares of 10 mm"),
        ("in", 9, 6.35, "squares of ¼ in"),
        ("in", 30, 6.35, "squares of ½ in"),
    ],
)
def test_squares_have_the_size_that_is_written_under_them(unit, move_mm, paper_mm, words):
    view = view_of(moved_by(0, move_mm, "hood"), style=NumberStyle(unit))
    [(_, content)] = circles(view)
    grid = [line for line in content if isinstance(line, Line) and line.role == "grid"]
    upright = sorted(line.start[0] for line in grid if line.start[0] == line.end[0])
    assert [b - a for a, b in pairwise(upright)] == pytest.approx([paper_mm] * (len(upright) - 1))
    assert words in {item.text for item in view.scene.items if isinstance(item, Text)}


def test_saddle_and_hands_keep_to_their_sides():
    view = view_of(TAPED_BEFORE)
    (saddle, _), (hands, _) = sorted(circles(view), key=lambda each: each[0].centre[0])
    assert on_bike(view, saddle.centre)[0] < 0 < on_bike(view, hands.centre)[0]
    assert captions(view) == ["X saddle nose 1 : 1", "Y hands 1 : 2"]


@given(positions=small_moves(), facts=bike_facts)
@settings(max_examples=60)
def test_a_detail_stays_in_its_circle_and_covers_nothing_but_pale_areas(positions, facts):
    view = bike_view(*positions, facts=facts, **ROOM)
    found = circles(view)
    inside = {id(item) for _, content in found for item in content}
    for rim, content in found:
        for item in content:
            for point in item_points(item):
                assert math.dist(point, rim.centre) <= rim.radius_mm + RIM_MM
        hull = Box(*rim.centre, *rim.centre).grown(0.7 * rim.radius_mm)  # the square inside the circle
        for item in view.scene.items:
            if id(item) not in inside:
                assert not covered(item, hull), item


def covered(item, hull):
    """Whether a label, a dimension, a mark or a line of the main view lies under a detail."""
    if isinstance(item, Text):
        return text_box(item).overlaps(hull)
    if isinstance(item, Dimension):
        return segment_box(item.start, item.end).overlaps(hull) and item.start[0] == item.end[0]
    return isinstance(item, Marker) and segment_box(item.at, item.at).overlaps(hull)


@given(positions=small_moves())
@settings(max_examples=30)
def test_details_are_to_their_own_scale(positions):
    view = bike_view(*positions, facts=BikeFacts("drop"), **ROOM)
    names = {"X saddle nose": "saddle_nose", "X saddle": "saddle_datum", "Y hands": "hood_middle"}
    for (_, content), caption in zip(circles(view), captions(view), strict=True):
        name, scale = caption.rsplit(" 1 : ", 1)
        (bx, by, _), (ax, ay, _) = (points[names[name]] for points in positions)
        shown = move_in(content)
        assert (shown[0] * int(scale), shown[1] * int(scale)) == pytest.approx((ax - bx, ay - by), abs=1e-6)


def test_what_is_shown_in_a_detail_is_solid_after_and_dashed_before():
    [(_, content)] = circles(view_of(moved_by(5, 5, "saddle")))
    roles = [item.role for item in content if isinstance(item, Polyline)]
    assert {"schematic", "before", "after"} <= set(roles)
    assert roles.index("before") < roles.index("after")
