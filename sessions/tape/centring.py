"""What is assumed sideways where only the width of a pair was read."""

from __future__ import annotations

from collections.abc import Sequence

from sessions.geometry.points import PAIRS, PointName
from sessions.tape.readings import DEFAULT_SIGMA, Instrument, Reading, ReadingKind


def centring(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the assumption that a pair measured only by its width sits centred on the bike."""
    return tuple(_centred(pair) for pair in PAIRS if _has_width_only(pair, readings))


def _has_width_only(pair: tuple[PointName, PointName], readings: Sequence[Reading]) -> bool:
    width = any(r.kind is ReadingKind.WIDTH and set(r.points) == set(pair) for r in readings)
    sideways = any(r.kind is ReadingKind.COORDINATE_Z and r.points[0] in pair for r in readings)
    return width and not sideways


def _centred(pair: tuple[PointName, PointName]) -> Reading:
    stem = pair[0].value.removesuffix("_left")
    label = f"{stem.replace('_', ' ').capitalize()}s centred on the bike"
    sigma = DEFAULT_SIGMA[Instrument.ASSUMED]
    return Reading(f"{stem}_centred", ReadingKind.CENTRING, pair, 0.0, sigma, Instrument.ASSUMED, "mm", label)
