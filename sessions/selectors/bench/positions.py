"""The only crossing from stored readings to the tape core: the position before and after, and what changed."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from intake.models.previsit import Phase
from sessions.geometry.changes import Change, SideDifference, compare, left_right
from sessions.geometry.dimensions import Dimension
from sessions.geometry.errors import MeasureError
from sessions.geometry.position import Position
from sessions.geometry.recipes import Group
from sessions.models import FitRecord, Reading, SolvedPosition
from sessions.quantities import QUANTITIES, Quantity
from sessions.sheets.bike_points import FarPoint
from sessions.tape import readings as tape
from sessions.tape.fit import FitSolution, solve_fit

# In place of an instrument: nothing was measured anew, the fitter says that this was not touched.
UNCHANGED = "unchanged"

InForce = Mapping[str, Mapping[str, Reading]]


@dataclass(frozen=True)
class Positions:
    """Both positions of one record. ``rows`` are the readings in force, by phase and quantity."""

    rows: InForce
    pitch_deg: float

    @cached_property
    def before(self) -> FitSolution:
        """What was read before the changes."""
        return self.solve(Phase.BEFORE)

    @cached_property
    def after(self) -> FitSolution:
        """What was read after them."""
        return self.solve(Phase.AFTER)

    def of(self, phase: str) -> FitSolution:
        """Return the solution of one phase."""
        return self.after if phase == Phase.AFTER else self.before

    def solve(self, phase: str) -> FitSolution:
        """Solve one phase from all its readings that can be read."""
        return solve_fit([reading for _key, reading in self._readable(phase)], self.pitch_deg)

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """Every dimension, before beside after."""
        return compare(self.before.dimensions, self.after.dimensions)

    @cached_property
    def changes_by_key(self) -> Mapping[str, Change]:
        """The changes by key, with those of coordinates."""
        return {each.key: each for each in (*self._coordinate_changes(), *self.changes)}

    @cached_property
    def sides(self) -> tuple[SideDifference, ...]:
        """Left against right as it is now: after the changes where that was measured, else before."""
        return left_right(self.latest.dimensions)

    @property
    def latest(self) -> FitSolution:
        """The position after, or before where nothing was read after."""
        return self.after if self.rows[Phase.AFTER] else self.before

    @cached_property
    def untouched(self) -> frozenset[str]:
        """Keys of dimensions that the fitter says were not touched."""
        rows = self.rows[Phase.AFTER].items()
        return frozenset(
            QUANTITIES[key].core_key for key, row in rows if row.instrument == UNCHANGED and key in QUANTITIES
        )

    def unsaid_after(self, keys: Iterable[str]) -> tuple[str, ...]:
        """Return those of the quantities that were read before and of which nothing is said yet after."""
        return tuple(key for key in keys if key in self.rows[Phase.BEFORE] and key not in self.rows[Phase.AFTER])

    def unreadable(self, phase: str) -> tuple[str, ...]:
        """Return the quantities whose stored reading the present rules refuse; they count for nothing until taken again."""
        read = {key for key, _reading in self._readable(phase)}
        return tuple(key for key in self.rows[phase] if key not in read)

    def _coordinate_changes(self) -> tuple[Change, ...]:
        sets = ([_as_dimension(each) for each in self._coordinates(phase)] for phase in Phase.values)
        return compare(*sets)

    def _coordinates(self, phase: str) -> Iterator[tape.Reading]:
        return (reading for key, reading in self._readable(phase) if QUANTITIES[key].point is not None)

    def _readable(self, phase: str) -> Iterator[tuple[str, tape.Reading]]:
        for key, each in QUANTITIES.items():
            row = self.rows[phase].get(key)
            if row is not None:
                try:
                    yield key, self._core(each, row)
                except (MeasureError, ValueError):
                    continue

    def _core(self, each: Quantity, row: Reading) -> tape.Reading:
        taken = row
        if row.instrument == UNCHANGED:
            taken = self.rows[Phase.BEFORE].get(row.quantity, row)
        name = each.instrument.value if taken.instrument == UNCHANGED else taken.instrument
        return each.reading(row.value, sigma=row.sigma, instrument=tape.Instrument(name))


def _as_dimension(reading: tape.Reading) -> Dimension:
    return Dimension(reading.key, reading.name, reading.value, reading.sigma, reading.unit, Group.FRAME)


def in_force(rows: Iterable[Reading]) -> InForce:
    """Return readings by phase and quantity."""
    found: dict[str, dict[str, Reading]] = {Phase.BEFORE: {}, Phase.AFTER: {}}
    for row in rows:
        found[row.phase][row.quantity] = row
    return found


def positions_of(record: FitRecord) -> Positions:
    """Return both positions of a record: one query."""
    return Positions(in_force(record.readings.filter(replaced_at__isnull=True)), record.pitch_deg)


def drawn_points(solution: FitSolution) -> dict[str, FarPoint]:
    """Return the placed points of a position for a drawing, none while nothing but the bottom bracket is known."""
    if solution.position is None:
        return {}
    return {name.value: solution.position.at(name) for name in solution.position.names}


def stored_position(row: SolvedPosition) -> Position:
    """Return a stored position as the geometry core reads it.

    Raises BadPositionError where the row does not hold one.
    """
    points = row.points if isinstance(row.points, dict) else {}
    return Position.from_plain({**points, "covariance_mm2": row.covariance})
