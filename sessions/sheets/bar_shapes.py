"""Bars, hoods, levers and pads around the points where the hands rest: shapes in the bike's own millimetres.

The place is measured, the shape is not: it is the usual one of its kind, led through every point that was measured.
Offsets are those of common road, flat and aero bars (common practice, no source).
"""

from collections.abc import Iterator, Mapping, Sequence

from sessions.sheets.bike_facts import Bar, BikeFacts, usual
from sessions.sheets.curves import ribbon, smooth
from sessions.sheets.scene import Point

Points = Mapping[str, Point]
Shape = tuple[Point, ...]

BAR_MM = 23.8
CLAMP_MM = 31.8
GRIP_MM = 33.0
EXTENSION_MM = 22.2
REACH_MM, DROP_MM = 80.0, 125.0
HOOD = (
    (-36, -11), (-18, -4), (0, 0), (15, 6), (28, 20), (38, 37), (48, 41), (57, 32), (58, 16), (53, -4), (46, -20),
    (28, -33), (8, -39), (-8, -34), (-24, -29),
)  # fmt: skip
HORN = ((-38, -17), (0, -15), (46, -6), (84, 18))  # the grip of an aero base bar, under the hand


def bar_kind(points: Points, facts: BikeFacts) -> Bar:
    """What the hands hold: as the facts say, or as the measured points tell.

    >>> bar_kind({"pad": (370.0, 700.0)}, BikeFacts()), bar_kind({}, BikeFacts(bar="flat"))
    ('aero', 'flat')
    """
    if facts.bar:
        return facts.bar
    if "pad" in points:
        return "aero"
    return "drop" if "drop" in points or "lever_tip" in points else ""


def clamp_of(points: Points, facts: BikeFacts) -> Point | None:
    """The bar's centre at the stem: measured, or as far from the hood rest as is usual for the bar."""
    if "bar_clamp" in points:
        return points["bar_clamp"]
    kind = bar_kind(points, facts)
    if "hood" not in points or not kind:
        return None
    x, y = points["hood"]
    reach = usual(facts.bar_reach_mm, REACH_MM, 40, 150)
    back, down = {"drop": (reach + 5, 22.0), "flat": (-18.0, 26.0), "aero": (70.0, 12.0)}[kind]
    return (x - back, y - down)


def bar_shapes(points: Points, facts: BikeFacts) -> Iterator[Shape]:
    """The closed outlines of bar, hood, lever and pad in the order in which they are drawn."""
    clamp = clamp_of(points, facts)
    if clamp is not None and "hood" in points:
        draw = {"drop": _drop_bar, "flat": _flat_bar, "aero": _base_bar}.get(bar_kind(points, facts), _no_bar)
        yield from draw(points, clamp, facts)
    if "pad" in points:
        yield from _pad(points["pad"])


def _no_bar(points: Points, clamp: Point, facts: BikeFacts) -> Iterator[Shape]:
    yield from ()


def _drop_bar(points: Points, clamp: Point, facts: BikeFacts) -> Iterator[Shape]:
    hood, (cx, cy) = points["hood"], clamp
    yield _round(clamp, CLAMP_MM)
    drop = usual(facts.bar_drop_mm, DROP_MM, 60, 220)
    low = points.get("drop", (cx + 42, cy - drop))
    front = max(hood[0] - 5, low[0] + 35)
    bend = (
        (cx, cy), (cx + 0.45 * (hood[0] - cx), cy + 0.2 * (hood[1] - 22 - cy)), (hood[0] - 24, hood[1] - 20),
        (front - 4, hood[1] - 50), (front, 0.45 * (hood[1] - 20) + 0.55 * low[1]), (low[0] + 28, low[1] + 20),
        (low[0] + 6, low[1] + 2), (low[0] - 30, low[1] - 3),
        (low[0] - 78, low[1] - 6),
    )  # fmt: skip
    yield ribbon(smooth(bend), BAR_MM)
    yield from _lever(points, (47, -4), (52, -98))
    yield _at(hood, smooth(HOOD, closed=True))


def _flat_bar(points: Points, clamp: Point, facts: BikeFacts) -> Iterator[Shape]:
    """Seen from the side a flat bar is its end: the hand rests on top of the grip."""
    yield from _lever(points, (10, -22), (84, -58))
    yield _round((points["hood"][0], points["hood"][1] - GRIP_MM / 2), GRIP_MM)


def _base_bar(points: Points, clamp: Point, facts: BikeFacts) -> Iterator[Shape]:
    hood = points["hood"]
    yield from _lever(points, (72, 28), (96, -42))
    yield ribbon(smooth(((clamp[0] - 12, clamp[1] - 2), *_at(hood, HORN))), CLAMP_MM, 23.0)


def _lever(points: Points, pivot: Point, usual_tip: Point) -> Iterator[Shape]:
    """The lever's blade from its pivot to its tip, bowed forward."""
    hood = points["hood"]
    start = (hood[0] + pivot[0], hood[1] + pivot[1])
    tip = points.get("lever_tip", (hood[0] + usual_tip[0], hood[1] + usual_tip[1]))
    run, rise = tip[0] - start[0], tip[1] - start[1]
    bow = 0.14 * abs(rise) + 0.05 * abs(run)
    middle = [(start[0] + run * share + bow * lean, start[1] + rise * share) for share, lean in ((0.3, 0.8), (0.68, 1))]
    yield ribbon(smooth((start, *middle, tip)), 17.0, 9.0)


def _pad(rear: Point) -> Iterator[Shape]:
    """An arm pad from its measured rear end, and the extension under it."""
    x, y = rear
    reach = ((x - 20, y - 48), (x + 120, y - 48), (x + 260, y - 44), (x + 330, y - 24), (x + 372, y + 22))
    yield ribbon(smooth(reach), EXTENSION_MM)
    yield ((x + 30, y - 40), (x + 78, y - 40), (x + 72, y - 14), (x + 36, y - 14))
    yield smooth(
        (
            (x, y),
            (x + 30, y - 4),
            (x + 78, y - 4),
            (x + 108, y + 2),
            (x + 104, y - 12),
            (x + 60, y - 17),
            (x + 8, y - 14),
        ),
        closed=True,
    )


def _round(centre: Point, diameter_mm: float) -> Shape:
    half = diameter_mm / 2
    diagonal = 0.7071 * half
    x, y = centre
    offsets = (
        (half, 0.0), (diagonal, diagonal), (0.0, half), (-diagonal, diagonal), (-half, 0.0), (-diagonal, -diagonal),
        (0.0, -half), (diagonal, -diagonal),
    )  # fmt: skip
    return smooth([(x + dx, y + dy) for dx, dy in offsets], closed=True, steps=3)


def _at(origin: Point, shape: Sequence[Point]) -> Shape:
    return tuple((origin[0] + x, origin[1] + y) for x, y in shape)
