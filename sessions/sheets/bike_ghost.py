"""The bike around its measured points, so that the eye knows what it looks at: drawn pale, measured by nobody.

Wheels stand on the measured floor, the head tube leads to the bar, the seat tube to the saddle. What the bike's facts
tell is used; the rest is the usual geometry of a bike (common practice, no source).
"""

import math
from collections.abc import Iterator, Mapping

from sessions.sheets.bar_shapes import clamp_of
from sessions.sheets.bike_facts import BikeFacts, usual
from sessions.sheets.curves import ribbon, ring
from sessions.sheets.saddle_shapes import SaddleLine, clamp_point, level_line, post_shapes, saddle_shape
from sessions.sheets.scene import Point, moved, unit

Points = Mapping[str, Point]
Shape = tuple[Point, ...]

WHEEL_WEIGHT, FRAME_WEIGHT = 0.4, 3.0
WHEEL_MM, TYRE_MM, HUB_MM = 340.0, 28.0, 46.0
CHAINSTAY_MM, FRONT_CENTRE_MM, TRAIL_OFFSET_MM = 410.0, 585.0, 45.0
HEAD_ANGLE_DEG, STEM_RISE = 72.5, 0.2
POST_MM, STACK_MM, LEAST_HEAD_MM, CROWN_GAP_MM = 175.0, 45.0, 70.0, 36.0
TUBE_MM = {"seat": 30.0, "down": 34.0, "top": 28.0, "head": 38.0, "fork": 27.0, "stay": 16.0, "stem": 30.0}


def ghost_shapes(points: Points, line: SaddleLine | None, facts: BikeFacts) -> Iterator[tuple[Shape, float]]:
    """Shapes, each with what it weighs to hide it: wheels and frame between the measured points; nothing where these are no likely bike's.

    Parameters
    ----------
    points
        Side-view points in the bike's millimetres.
    line
        Where the saddle lies.
    facts
        What is known of the bike.
    """
    if line is None:
        if "saddle_datum" in points:
            yield saddle_shape(level_line(points["saddle_datum"])), FRAME_WEIGHT
        return
    clamp = clamp_of(points, facts)
    if clamp is None or "floor" not in points or "bottom_bracket" not in points:
        return
    ghosts = (_Ghost(points, clamp_point(line), clamp, each) for each in (facts, BikeFacts(facts.bar)))
    ghost = next((ghost for ghost in ghosts if ghost.is_likely), None)
    if ghost is not None:
        for shape in ghost.wheels():
            yield shape, WHEEL_WEIGHT
        for shape in (*ghost.tubes(), *post_shapes(line, POST_MM + 20)):
            yield shape, FRAME_WEIGHT


class _Ghost:
    """The joints of a frame that would fit the measured points."""

    def __init__(self, points: Points, seat: Point, clamp: Point, facts: BikeFacts) -> None:
        self.floor = points["floor"][1]
        self.radius = usual(facts.wheel_radius_mm, WHEEL_MM, 200, 400)
        self.seat, self.clamp = seat, clamp
        self.bracket = points["bottom_bracket"]
        self.hub_y = self.floor + self.radius
        self.rear = points.get("rear_axle") or self._rear()
        self.steerer = points.get("steerer_top") or self._steerer(points, facts)
        self.front = points.get("front_axle") or self._front(self.steerer, facts)
        self.down = self._down(facts)
        self.crown_mm = self._crown()
        self.head_top = moved(self.steerer, self.down, min(STACK_MM, self.crown_mm - LEAST_HEAD_MM))
        self.crown = moved(self.steerer, self.down, self.crown_mm)
        self.cluster = moved(seat, unit(seat, self.bracket), POST_MM)

    @property
    def is_likely(self) -> bool:
        """Whether these are the proportions of a bike."""
        ahead = self.front[0] - self.bracket[0]
        return (
            180 < -self.floor < 420
            and 350 < self.seat[1] < 1000
            and 400 < ahead < 900
            and self.cluster[1] > self.hub_y + 60
            and self.crown_mm > LEAST_HEAD_MM
            and -self.rear[0] > 250
        )

    def _rear(self) -> Point:
        return (-math.sqrt(max(0.0, CHAINSTAY_MM**2 - self.hub_y * self.hub_y)), self.hub_y)

    def _angle(self, facts: BikeFacts) -> float:
        return math.radians(usual(facts.head_angle_deg, HEAD_ANGLE_DEG, 60, 80))

    def _down(self, facts: BikeFacts) -> Point:
        return (math.cos(self._angle(facts)), -math.sin(self._angle(facts)))

    def _steerer(self, points: Points, facts: BikeFacts) -> Point:
        """A stem's length behind the bar, as far as puts the front wheel where it usually is."""
        ahead = math.sqrt(max(0.0, FRONT_CENTRE_MM**2 - self.hub_y * self.hub_y))
        wanted = self.clamp[0] - (ahead - self._run(self.clamp[1], facts))
        length = usual(facts.stem_length_mm, min(120.0, max(45.0, wanted)), 30, 150)
        return (self.clamp[0] - length, self.clamp[1] - STEM_RISE * length)

    def _crown(self) -> float:
        """How far down the steering axis the fork's crown lies: just over the tyre."""
        run, fall = self.front[0] - self.steerer[0], self.front[1] - self.steerer[1]
        abreast = run * self.down[0] + fall * self.down[1]
        aside = run * self.down[1] - fall * self.down[0]
        reach = self.front[1] - self.floor + CROWN_GAP_MM
        return abreast - math.sqrt(max(0.0, reach * reach - aside * aside))

    def _run(self, height: float, facts: BikeFacts) -> float:
        """How far forward the front axle lies of a point of the steering axis at that height."""
        angle = self._angle(facts)
        return (height - self.hub_y) / math.tan(angle) + TRAIL_OFFSET_MM / math.sin(angle)

    def _front(self, steerer: Point, facts: BikeFacts) -> Point:
        return (steerer[0] + self._run(steerer[1], facts), self.hub_y)

    def wheels(self) -> Iterator[Shape]:
        for hub in (self.rear, self.front):
            yield ring(hub, hub[1] - self.floor, hub[1] - self.floor - TYRE_MM)
            yield ring(hub, HUB_MM / 2, HUB_MM / 2 - 9)

    def tubes(self) -> Iterator[Shape]:
        for name, start, end in (
            ("seat", self.bracket, self.cluster),
            ("down", self.bracket, moved(self.crown, self.down, -38)),
            ("top", self.cluster, moved(self.head_top, self.down, 30)),
            ("head", self.head_top, moved(self.crown, self.down, -8)),
            ("stem", moved(self.steerer, self.down, 18), self.clamp),
        ):
            yield ribbon((start, end), TUBE_MM[name])
        yield ribbon((self.steerer, self.head_top), 28.0)
        yield ribbon((self.crown, self.front), TUBE_MM["fork"], 14.0)
        yield ribbon(
            (moved(self.crown, self.down, -8), moved(self.crown, self.down, 12)), TUBE_MM["head"], TUBE_MM["fork"]
        )
        yield ribbon((self.bracket, self.rear), TUBE_MM["stay"] + 4, TUBE_MM["stay"])
        yield ribbon((self.cluster, self.rear), TUBE_MM["stay"], 13.0)
