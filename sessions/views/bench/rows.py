"""The rows of a position page: each a form around what is stored, with what it means beside it."""

from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.edge.words import UNIT_LABELS
from intake.models.previsit import Phase
from sessions.forms.bench.readings import INSTRUMENT_LABELS, ReadingForm, instrument_of
from sessions.geometry.changes import REAL_FACTOR, Change
from sessions.models import Reading
from sessions.quantities import OF_CORE_KEY, Part, Quantity, quantities_of
from sessions.safety import has_aero_bars
from sessions.selectors.bench.positions import UNCHANGED, Positions
from sessions.selectors.bench.records import Bench
from sessions.sheets.numbers import NumberStyle

PART_LABELS = {
    Part.FRAME: gettext_lazy("Frame and cranks"),
    Part.SADDLE: gettext_lazy("Saddle"),
    Part.REACH: gettext_lazy("Saddle to hands"),
    Part.HOODS: gettext_lazy("Hoods, left and right"),
    Part.PADS: gettext_lazy("Pads, left and right"),
    Part.CLEATS: gettext_lazy("Cleats, left and right"),
    Part.MORE: gettext_lazy("More readings"),
    Part.POINTS: gettext_lazy("Coordinates of points"),
}
COMMON_PARTS = (Part.FRAME, Part.SADDLE, Part.REACH, Part.HOODS, Part.PADS, Part.CLEATS, Part.MORE)


@dataclass(frozen=True)
class Told:
    """What is to be said beside one reading: what took it, how it changed, whether to take it again."""

    quantity: Quantity
    style: NumberStyle
    stored: Reading | None
    change: Change | None
    is_suspect: bool

    @property
    def unit(self) -> str:
        """Return the unit written after a length; an angle brings its own."""
        return "" if self.quantity.unit == "deg" else str(UNIT_LABELS[self.style.unit])

    @property
    def is_untouched(self) -> bool:
        """Return whether the reading before still holds after the changes."""
        return self.stored is not None and self.stored.instrument == UNCHANGED

    @property
    def delta(self) -> str:
        """Return the change since before, empty where there is none to tell."""
        if self.change is None or self.change.delta is None or self.is_untouched:
            return ""
        return self.style.value(self.quantity.unit, self.change.delta, signed=True)

    @property
    def delta_error(self) -> str:
        """Return the uncertainty of the change at 95 %."""
        return self.style.value(self.quantity.unit, REAL_FACTOR * self.change.sigma)

    @property
    def taken_with(self) -> str:
        """Return instrument and one-sigma uncertainty in words."""
        used = instrument_of(self.quantity, self.stored)
        sigma = self.stored.sigma if self.stored else self.quantity.sigma_of(used)
        value = f"{sigma:g}°" if self.quantity.unit == "deg" else f"{self.style.length(sigma)} {self.unit}"
        return _("%(instrument)s ± %(sigma)s") % {"instrument": INSTRUMENT_LABELS[used], "sigma": value}


@dataclass(frozen=True)
class Row:
    """One reading on the page."""

    form: ReadingForm
    told: Told

    @property
    def quantity(self) -> Quantity:
        """Return what is read."""
        return self.told.quantity

    @property
    def has_open_details(self) -> bool:
        """Return whether something beside the value is to be put right."""
        return self.form.is_bound and bool({"instrument", "sigma"} & set(self.form.errors))


@dataclass(frozen=True)
class PagePart:
    """A stretch of the page that is read at one go; ``unsaid`` was read before and is not spoken of after."""

    key: str
    label: str
    rows: tuple[Row, ...]
    unsaid: tuple[str, ...]

    @property
    def is_folded(self) -> bool:
        """Return whether it is shown on demand only."""
        return self.key == Part.MORE

    @property
    def is_open(self) -> bool:
        """Return whether something in it is to be put right."""
        return any(row.form.is_bound and row.form.errors for row in self.rows)

    @property
    def taken(self) -> int:
        """Return how many readings it holds."""
        return sum(row.told.stored is not None for row in self.rows)


@dataclass(frozen=True)
class Rows:
    """Builds the rows of one page. Of ``data``, what was posted, only the quantities in ``bound`` are taken, by default all."""

    bench: Bench
    phase: str
    positions: Positions
    unit: str
    data: object = None
    bound: Container[str] | None = None

    def parts(self, *, points: bool = False) -> list[PagePart]:
        """Return the page's parts in order."""
        return [part for part in (self.part(each) for each in page_parts(points=points)) if part.rows]

    def part(self, part: Part) -> PagePart:
        """Return one part."""
        found = self.quantities(part)
        unsaid = self.positions.unsaid_after(each.key for each in found) if self.phase == Phase.AFTER else ()
        return PagePart(part.value, str(PART_LABELS[part]), tuple(self.row(each) for each in found), unsaid)

    def part_with(self, quantity: Quantity) -> PagePart:
        """Return the part that shows a quantity."""
        shown = (part for part in (*COMMON_PARTS, Part.POINTS) if quantity in self.quantities(part))
        return self.part(next(shown))

    def quantities(self, part: Part) -> tuple[Quantity, ...]:
        """Return what is read in one part: pads where the bike has them, or else among what is read on demand."""
        has_pads = has_aero_bars(self.bench.fit_session.bike)
        if part is Part.PADS and not has_pads:
            return ()
        if part is Part.MORE and not has_pads:
            return (*quantities_of(part), *quantities_of(Part.PADS))
        return quantities_of(part)

    def row(self, quantity: Quantity) -> Row:
        """Return the row of one quantity."""
        return Row(self.form(quantity), self.told(quantity))

    def form(self, quantity: Quantity) -> ReadingForm:
        """Return the form of one quantity, which needs nothing solved."""
        rows = self.positions.rows
        return ReadingForm(
            quantity,
            self.phase,
            stored=rows[self.phase].get(quantity.key),
            before=rows[Phase.BEFORE].get(quantity.key) if self.phase == Phase.AFTER else None,
            typed_in=self.unit,
            data=self.data if self._is_bound(quantity) else None,
        )

    def posted_forms(self, *, points: bool) -> list[ReadingForm]:
        """Return the forms of what was posted from the page."""
        return [self.form(each) for each in self._all(points=points) if self._is_bound(each)]

    def told(self, quantity: Quantity) -> Told:
        """Return what is said beside one reading."""
        changes = self.positions.changes_by_key if self.phase == Phase.AFTER else {}
        return Told(
            quantity,
            NumberStyle(self.unit),
            self.positions.rows[self.phase].get(quantity.key),
            changes.get(quantity.core_key),
            quantity.core_key in self.positions.of(self.phase).suspects,
        )

    def all_told(self, *, points: bool) -> Iterator[Told]:
        """Yield what is said beside every reading of the page."""
        return (self.told(each) for each in self._all(points=points))

    def _all(self, *, points: bool) -> Iterator[Quantity]:
        return (each for part in page_parts(points=points) for each in self.quantities(part))

    def _is_bound(self, quantity: Quantity) -> bool:
        if self.data is None or f"{quantity.slug}-value" not in self.data:
            return False
        return self.bound is None or quantity.key in self.bound


def page_parts(*, points: bool) -> tuple[Part, ...]:
    """Return the parts of a page: the common set, or the coordinates."""
    return (Part.POINTS,) if points else COMMON_PARTS


def to_take_again(positions: Positions, phase: str) -> Iterable[Quantity]:
    """Return the quantities to take again."""
    return [OF_CORE_KEY[key] for key in positions.of(phase).suspects if key in OF_CORE_KEY]
