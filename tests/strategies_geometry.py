"""Bikes, and what a tape, a plumb line and a level would read on them: the one home of these strategies."""

import math

from hypothesis import strategies as st

from sessions.geometry.points import MIDDLES, PointName
from sessions.tape.common import COMMON
from sessions.tape.readings import Reading, ReadingKind

P = PointName

BENCH_KEYS = (
    "saddle_height",
    "setback_nose",
    "setback_datum",
    "saddle_tilt",
    "nose_to_hood",
    "drop",
    "hood_height_left",
    "hood_height_right",
    "hood_reach_left",
    "hood_reach_right",
    "bb_height",
)

# An invented road bike, used where a test wants round figures.
ROAD_BIKE = {
    P.BOTTOM_BRACKET: (0.0, 0.0, 0.0),
    P.SADDLE_NOSE: (-62.0, 741.0, 0.0),
    P.SADDLE_DATUM: (-211.0, 746.0, 0.0),
    P.SADDLE_TAIL: (-338.0, 755.0, 0.0),
    P.BAR_CLAMP: (452.0, 640.0, 0.0),
    P.HOOD_LEFT: (548.0, 688.0, -204.0),
    P.HOOD_RIGHT: (551.0, 684.0, 204.0),
    P.LEVER_TIP_LEFT: (611.0, 608.0, -193.0),
    P.LEVER_TIP_RIGHT: (606.0, 612.0, 199.0),
    P.PAD_LEFT: (300.0, 700.0, -80.0),
    P.PAD_RIGHT: (302.0, 701.0, 82.0),
    P.PEDAL_AXLE: (172.5, 0.0, 0.0),
    P.FLOOR: (0.0, -268.0, 0.0),
}


def spread(low, high):
    """Ordinary lengths, to the micrometre."""
    return st.integers(int(low * 1000), int(high * 1000)).map(lambda thousandths: thousandths / 1000)


@st.composite
def bikes(draw):
    """Coordinates of every named point of a plausible bike, hoods centred, the bottom bracket at the origin."""

    def near(name, dx=60.0, dy=60.0, dz=0.0):
        x, y, z = ROAD_BIKE[name]
        return x + draw(spread(-dx, dx)), y + draw(spread(-dy, dy)), z + (draw(spread(-dz, dz)) if dz else 0.0)

    bike = {name: near(name) for name in (P.SADDLE_NOSE, P.BAR_CLAMP)}
    nose = bike[P.SADDLE_NOSE]
    bike[P.SADDLE_DATUM] = (nose[0] - draw(spread(110, 180)), nose[1] + draw(spread(-15, 15)), 0.0)
    bike[P.SADDLE_TAIL] = (nose[0] - draw(spread(240, 300)), nose[1] + draw(spread(-15, 25)), 0.0)
    half = draw(spread(170, 240))
    for left, right in ((P.HOOD_LEFT, P.HOOD_RIGHT),):
        bike[left] = (*near(left)[:2], -half)
        bike[right] = (*near(right)[:2], half)
    for name in (P.LEVER_TIP_LEFT, P.LEVER_TIP_RIGHT, P.PAD_LEFT, P.PAD_RIGHT):
        bike[name] = near(name, 20.0, 20.0, 15.0)
    crank = draw(st.sampled_from([160.0, 165.0, 170.0, 172.5, 175.0]))
    bike[P.PEDAL_AXLE] = (crank, 0.0, 0.0)
    bike[P.FLOOR] = (0.0, -draw(spread(240, 300)), 0.0)
    return {P.BOTTOM_BRACKET: (0.0, 0.0, 0.0), **bike}


pitches = spread(-6, 6)


def _where(bike, name):
    sides = MIDDLES.get(name, (name,))
    return tuple(sum(bike[side][axis] for side in sides) / len(sides) for axis in range(3))


def _in_the_room(point, pitch_deg):
    x, y, z = point
    angle = math.radians(pitch_deg)
    return x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle), z


def read_off(bike, key, pitch_deg=0.0):
    """What a faultless instrument reads, worked out by plain trigonometry and not by the solver's own equations."""
    spec = COMMON[key]
    ends = (P.FLOOR, *spec.points) if spec.kind is ReadingKind.HEIGHT else spec.points
    (x1, y1, z1), (x2, y2, z2) = (_in_the_room(_where(bike, name), pitch_deg) for name in ends)
    return {
        ReadingKind.DISTANCE: math.dist((x1, y1, z1), (x2, y2, z2)),
        ReadingKind.SIDE_DISTANCE: math.dist((x1, y1), (x2, y2)),
        ReadingKind.HEIGHT: y2 - y1,
        ReadingKind.RISE: y2 - y1,
        ReadingKind.OFFSET: x2 - x1,
        ReadingKind.WIDTH: z2 - z1,
        ReadingKind.TILT: math.degrees(math.atan2(y2 - y1, x2 - x1)),
    }[spec.kind]


def faultless(bike, keys=BENCH_KEYS, pitch_deg=0.0):
    """Readings of the common set without any error, with their usual uncertainties."""
    specs = [COMMON[key] for key in keys]
    return [
        Reading(s.key, s.kind, s.points, read_off(bike, s.key, pitch_deg), s.sigma, s.instrument, s.unit, s.label)
        for s in specs
    ]
