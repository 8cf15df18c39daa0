"""What a fit sheet says, as plain values: every figure already formatted, every text already in the reader's language."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from sessions.sheets.bike_facts import NO_FACTS, BikeFacts
from sessions.sheets.bike_points import FarPoint
from sessions.sheets.numbers import METRIC, NumberStyle
from sessions.sheets.words import ENGLISH, STANDING_CAUTIONS, Words

Paper = Literal["A4", "Letter"]


@dataclass(frozen=True, slots=True)
class Studio:
    """The studio as its letterhead names it."""

    name: str
    address_lines: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""

    @property
    def contact(self) -> str:
        """Address, telephone and mail in one line."""
        return " · ".join(part for part in (", ".join(self.address_lines), self.phone, self.email) if part)


@dataclass(frozen=True, slots=True)
class Rider:
    """The rider's name as they write it and, where that is in another script, its Latin form."""

    name: str
    latin_name: str = ""


@dataclass(frozen=True, slots=True)
class Bike:
    """The bike's label and a line that describes it."""

    label: str
    description: str = ""


@dataclass(frozen=True, slots=True)
class PositionRow:
    """One dimension before and after; `letter` leads to the drawing; `real` is None where no change can be told."""

    label: str
    before: str
    after: str
    change: str
    uncertainty: str
    real: bool | None = None
    letter: str = ""


@dataclass(frozen=True, slots=True)
class SideRow:
    """One dimension left against right."""

    label: str
    left: str
    right: str
    difference: str
    uncertainty: str
    real: bool | None = None


@dataclass(frozen=True, slots=True)
class ComponentChange:
    """A part that was changed or moved."""

    what: str
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class DiscomfortRow:
    """A complaint before and after, 0 to 10."""

    area: str
    before: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class SafetyItem:
    """One line of the closing safety list; `value` may hold a torque as printed on the part."""

    label: str
    done: bool
    value: str = ""


@dataclass(frozen=True, slots=True)
class FitSheet:
    """Everything on a fit sheet. Points are those of `bike_view`; empty fields print as a dash."""

    studio: Studio
    rider: Rider
    bike: Bike
    date: str
    service: str = ""
    fitter: str = ""
    paper: Paper = "A4"
    points_before: Mapping[str, FarPoint] = field(default_factory=dict)
    points_after: Mapping[str, FarPoint] = field(default_factory=dict)
    facts: BikeFacts = NO_FACTS
    rows: tuple[PositionRow, ...] = ()
    side_rows: tuple[SideRow, ...] = ()
    changes: tuple[ComponentChange, ...] = ()
    parts: tuple[str, ...] = ()
    discomfort: tuple[DiscomfortRow, ...] = ()
    notes: str = ""
    next_visit: str = ""
    safety: tuple[SafetyItem, ...] = ()
    cautions: tuple[str, ...] = STANDING_CAUTIONS
    style: NumberStyle = METRIC
    language: str = "en"
    words: Words = ENGLISH
