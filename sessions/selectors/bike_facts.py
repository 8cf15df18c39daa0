"""What a drawing may know of a bike beside its measured points."""

from intake.catalogue.schema import BikeKind
from intake.models import Bike
from intake.models.bikes import BarKind
from sessions.selectors.bench.positions import Positions
from sessions.sheets.bike_facts import Bar, BikeFacts
from sessions.tape.fit import FitSolution

USUAL_BARS: dict[str, Bar] = {
    BikeKind.ROAD: "drop",
    BikeKind.GRAVEL: "drop",
    BikeKind.TRACK: "drop",
    BikeKind.TRIATHLON: "aero",
    BikeKind.MOUNTAIN: "flat",
    BikeKind.CITY: "flat",
}
BARS: dict[str, Bar] = {BarKind.DROP: "drop", BarKind.FLAT: "flat", BarKind.AERO: "aero"}


def drawing_facts(positions: Positions, bike: Bike) -> BikeFacts:
    """Return what shapes the schematic parts of a bike's drawing; a bar that nobody named is the usual one of the bike's kind."""
    before, after = _crank_mm(positions.before), _crank_mm(positions.after)
    return BikeFacts(
        bar=BARS.get(bike.bar_kind) or USUAL_BARS.get(bike.kind, ""),
        crank_before_mm=before,
        crank_after_mm=after or before,
        wheel_radius_mm=_wheel_radius_mm(bike),
        head_angle_deg=bike.head_angle_deg,
        stem_length_mm=bike.stem_length_mm,
        bar_reach_mm=bike.bar_reach_mm,
        bar_drop_mm=bike.bar_drop_mm,
    )


def _crank_mm(solution: FitSolution) -> float | None:
    crank = solution.dimension("crank_length")
    return crank.value if crank else None


def _wheel_radius_mm(bike: Bike) -> float | None:
    """Half the rim at the tyre's bead, and the tyre on it."""
    if not bike.rim_diameter_mm or not bike.tyre_width_mm:
        return None
    return bike.rim_diameter_mm / 2 + bike.tyre_width_mm
