"""The picture of calibration: bars as high as their shares, the level line at a tenth, everything said in words."""

import pytest

from sessions.sheets.pit_view import pit_view
from sessions.sheets.scene import Line, Polyline

SHARES = [0.2, 0.05, 0.1, 0.1, 0.1, 0.1, 0.1, 0.05, 0.0, 0.2]


def test_bars_are_as_high_as_their_shares():
    """In proportion, from one floor, within the picture."""
    scene = pit_view(SHARES, 40)
    bars = [item for item in scene.items if isinstance(item, Polyline)]
    heights = [max(y for _x, y in bar.points) - min(y for _x, y in bar.points) for bar in bars]
    assert [height / heights[0] for height in heights] == pytest.approx([share / 0.2 for share in SHARES])
    assert all(0 <= x <= scene.width_mm and 0 <= y <= scene.height_mm for bar in bars for x, y in bar.points)


def test_the_level_line_stands_at_a_tenth():
    """Half as high as the bar of a fifth."""
    scene = pit_view(SHARES, 40)
    floor, top = (
        pick(y for _x, y in next(i for i in scene.items if isinstance(i, Polyline)).points) for pick in (min, max)
    )
    (level,) = [item for item in scene.items if isinstance(item, Line) and item.role == "slack"]
    assert level.start[1] - floor == pytest.approx((top - floor) / 2)


def test_the_picture_is_told_in_words():
    """Sessions and every share."""
    assert "40 sessions" in pit_view(SHARES, 40).description
    assert "20, 5, 10" in pit_view(SHARES, 40).description
