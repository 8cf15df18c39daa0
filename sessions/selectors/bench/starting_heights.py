"""Published starting heights for one rider, side by side, with what each implies for the knee."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.models import Bike
from sessions.geometry.changes import REAL_FACTOR
from sessions.geometry.errors import MeasureError
from sessions.geometry.limits import is_within
from sessions.geometry.segments import Segments, segments
from sessions.geometry.stance import CRANK_LIMITS, SEAT_ANGLE_LIMITS, Flexion, Stance, implied_flexion
from sessions.geometry.starting_height import RuleHeight, starting_heights
from sessions.selectors.bench.positions import Positions
from sessions.sheets.numbers import NOTHING, NumberStyle

LEG = ("thigh", "shank", "ankle_height", "foot_length")
LEG_WORDS = {
    "thigh": gettext_lazy("thigh"),
    "shank": gettext_lazy("shank"),
    "ankle_height": gettext_lazy("ankle height"),
    "foot_length": gettext_lazy("foot length"),
}


@dataclass(frozen=True)
class HeightRow:
    """One rule, or the bike as it was measured, ready to read."""

    label: str
    rule: str
    source: str
    value: str
    low: str
    high: str
    flexion: str
    flexion_range: str
    is_measured: bool = False
    band_only: bool = False


@dataclass(frozen=True)
class StartingHeights:
    """All rules side by side, and what they were worked out with."""

    rows: tuple[HeightRow, ...]
    assumptions: tuple[str, ...]


def starting_heights_of(
    measures_mm: Mapping[str, float], positions: Positions, bike: Bike, style: NumberStyle
) -> StartingHeights | None:
    """Return the rules for this rider, None while the inseam is not measured or the measures close no leg."""
    if "inseam" not in measures_mm:
        return None
    try:
        leg = segments(measures_mm["inseam"], **{f"{part}_mm": measures_mm.get(part) for part in LEG})
        stance, assumed = _stance(positions, bike)
        rules = starting_heights(leg, stance)
    except MeasureError:
        return None
    rows = (*_measured(positions, leg, stance, style), *(_row(rule, style) for rule in rules))
    return StartingHeights(rows, (*_estimated(leg), *assumed))


def _stance(positions: Positions, bike: Bike) -> tuple[Stance, tuple[str, ...]]:
    usual = Stance()
    crank = positions.latest.dimension("crank_length")
    crank_mm = crank.value if crank else bike.crank_length_mm
    angle = positions.latest.dimension("seat_angle")
    told = []
    if crank_mm is None or not is_within(crank_mm, CRANK_LIMITS):
        crank_mm = usual.crank_mm
        told.append(_("Crank length is taken as %(length)g mm until it is measured.") % {"length": crank_mm})
    angle_deg = angle.value if angle else usual.seat_angle_deg
    if angle is None or not is_within(angle_deg, SEAT_ANGLE_LIMITS):
        angle_deg = usual.seat_angle_deg
        told.append(
            _("The effective seat angle is taken as %(angle)g° until the saddle is measured.") % {"angle": angle_deg}
        )
    return Stance(crank_mm=crank_mm, seat_angle_deg=angle_deg), tuple(told)


def _estimated(leg: Segments) -> tuple[str, ...]:
    parts = [str(LEG_WORDS[part]) for part in LEG if part in leg.estimated]
    if not parts:
        return ()
    return (_("Estimated from the inseam, with its spread: %(parts)s.") % {"parts": ", ".join(parts)},)


def _measured(positions: Positions, leg: Segments, stance: Stance, style: NumberStyle) -> tuple[HeightRow, ...]:
    height = positions.latest.dimension("saddle_height")
    if height is None:
        return ()
    spread = REAL_FACTOR * height.sigma
    return (
        HeightRow(
            label=_("As measured on this bike"),
            rule=_("Bottom bracket to the saddle where it is 80 mm wide."),
            source="",
            value=style.length(height.value),
            low=style.length(height.value - spread),
            high=style.length(height.value + spread),
            **_flexion(implied_flexion(leg, stance, height.value)),
            is_measured=True,
        ),
    )


def _row(rule: RuleHeight, style: NumberStyle) -> HeightRow:
    return HeightRow(
        label=rule.label,
        rule=rule.rule,
        source=rule.source,
        value=style.length(rule.value_mm) if rule.value_mm is not None else "",
        low=style.length(rule.low_mm),
        high=style.length(rule.high_mm),
        **_flexion(rule.flexion),
        band_only=rule.band_only,
    )


def _flexion(flexion: Flexion) -> dict[str, str]:
    if not flexion.reaches:
        return {"flexion": _("does not reach"), "flexion_range": ""}
    value = f"{flexion.value_deg:.0f}°" if flexion.value_deg is not None else NOTHING
    return {"flexion": value, "flexion_range": f"{flexion.low_deg:.0f}–{flexion.high_deg:.0f}°"}
