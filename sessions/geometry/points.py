"""The named points of a bike, and which of them come in pairs."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class PointName(StrEnum):
    """Points that a position may hold."""

    BOTTOM_BRACKET = "bottom_bracket"
    SADDLE_NOSE = "saddle_nose"
    SADDLE_DATUM = "saddle_datum"
    SADDLE_TAIL = "saddle_tail"
    BAR_CLAMP = "bar_clamp"
    LEVER_TIP_LEFT = "lever_tip_left"
    LEVER_TIP_RIGHT = "lever_tip_right"
    HOOD_LEFT = "hood_left"
    HOOD_RIGHT = "hood_right"
    HOOD_MIDDLE = "hood_middle"
    DROP_LEFT = "drop_left"
    DROP_RIGHT = "drop_right"
    PAD_LEFT = "pad_left"
    PAD_RIGHT = "pad_right"
    PAD_MIDDLE = "pad_middle"
    PEDAL_AXLE = "pedal_axle"
    FRONT_AXLE = "front_axle"
    REAR_AXLE = "rear_axle"
    STEERER_TOP = "steerer_top"
    FLOOR = "floor"


POINT_LABELS: Mapping[PointName, str] = {
    PointName.BOTTOM_BRACKET: "bottom bracket",
    PointName.SADDLE_NOSE: "saddle nose",
    PointName.SADDLE_DATUM: "saddle datum",
    PointName.SADDLE_TAIL: "saddle tail",
    PointName.BAR_CLAMP: "bar clamp centre",
    PointName.LEVER_TIP_LEFT: "left lever tip",
    PointName.LEVER_TIP_RIGHT: "right lever tip",
    PointName.HOOD_LEFT: "left hood rest",
    PointName.HOOD_RIGHT: "right hood rest",
    PointName.HOOD_MIDDLE: "middle between the hood rests",
    PointName.DROP_LEFT: "left drop",
    PointName.DROP_RIGHT: "right drop",
    PointName.PAD_LEFT: "left pad rear",
    PointName.PAD_RIGHT: "right pad rear",
    PointName.PAD_MIDDLE: "middle between the pad rears",
    PointName.PEDAL_AXLE: "pedal axle",
    PointName.FRONT_AXLE: "front axle",
    PointName.REAR_AXLE: "rear axle",
    PointName.STEERER_TOP: "steerer top",
    PointName.FLOOR: "floor",
}

PAIRS: tuple[tuple[PointName, PointName], ...] = (
    (PointName.LEVER_TIP_LEFT, PointName.LEVER_TIP_RIGHT),
    (PointName.HOOD_LEFT, PointName.HOOD_RIGHT),
    (PointName.DROP_LEFT, PointName.DROP_RIGHT),
    (PointName.PAD_LEFT, PointName.PAD_RIGHT),
)
SIDED: frozenset[PointName] = frozenset(name for pair in PAIRS for name in pair)

# A straightedge laid across both hoods (or pads) is measured at its middle.
MIDDLES: Mapping[PointName, tuple[PointName, PointName]] = {
    PointName.HOOD_MIDDLE: (PointName.HOOD_LEFT, PointName.HOOD_RIGHT),
    PointName.PAD_MIDDLE: (PointName.PAD_LEFT, PointName.PAD_RIGHT),
}

OTHER_SIDE: Mapping[PointName, PointName] = {a: b for pair in PAIRS for a, b in (pair, pair[::-1])}


def is_sided(name: PointName) -> bool:
    """Return whether a point exists on the left and on the right.

    Examples
    --------
    >>> is_sided(PointName.HOOD_LEFT), is_sided(PointName.SADDLE_NOSE)
    (True, False)
    """
    return name in SIDED
