"""The shape of the catalogue: frozen values that the loader builds from ``checks.toml`` and the triage reads.

Minutes are minutes of a session's time, lead times are a studio's working days, lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum, StrEnum


class Adjustment(StrEnum):
    """Something that a session may need to move."""

    SADDLE_HEIGHT = "saddle_height"
    SADDLE_SETBACK = "saddle_setback"
    SADDLE_TILT = "saddle_tilt"
    BAR_HEIGHT_UP = "bar_height_up"
    BAR_HEIGHT_DOWN = "bar_height_down"
    BAR_REACH = "bar_reach"
    BAR_ROTATION = "bar_rotation"
    LEVER_POSITION = "lever_position"
    CLEAT_FORE_AFT = "cleat_fore_aft"
    CLEAT_LATERAL = "cleat_lateral"
    CLEAT_ROTATION = "cleat_rotation"
    PAD_HEIGHT = "pad_height"
    PAD_REACH = "pad_reach"
    PAD_WIDTH = "pad_width"


class Freedom(IntEnum):
    """Whether an adjustment can be made; a larger value outweighs a smaller one."""

    FREE = 0
    LIMITED = 1
    LOCKED = 2


class Hazard(StrEnum):
    """What a fault can do to the rider before anybody touches the bike."""

    NONE = "none"
    DO_NOT_RIDE = "do_not_ride"
    SEE_CLINICIAN = "see_clinician"
    EMERGENCY = "emergency"


class Who(StrEnum):
    """Who puts a fault right."""

    RIDER = "rider"
    WORKSHOP = "workshop"
    STUDIO = "studio"
    BRING = "bring"


class CostBand(StrEnum):
    """What a remedy usually costs the rider, cheapest first; a studio says what each band is in money."""

    FREE = "free"
    LOW = "low"
    MIDDLE = "middle"
    HIGH = "high"


class Group(StrEnum):
    """Where on the bike, or on whom, a check looks; also the order of the rider's pages."""

    RIDER = "rider"
    WHOLE = "whole"
    SEAT = "seat"
    FRONT = "front"
    FEET = "feet"


class BikeKind(StrEnum):
    """What kind of bike it is; some checks are asked only of some kinds."""

    ROAD = "road"
    GRAVEL = "gravel"
    MOUNTAIN = "mountain"
    TRIATHLON = "triathlon"
    CITY = "city"
    TRACK = "track"


class Side(StrEnum):
    """A side of bike and rider, from the saddle."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class Evidence(StrEnum):
    """How strong the evidence is that a complaint and a fault go together, the strongest first; none of it is proof."""

    STUDY = "study"
    CONVENTION = "convention"
    COMMON_PRACTICE = "common_practice"


class LinkSides(StrEnum):
    """Whether a fault goes rather with a complaint on its own side, or with either."""

    SAME = "same"
    EITHER = "either"


COULD_NOT = "could_not"
MEASURED = "measured"  # the answer that stands for the lengths themselves

BIKE_FACTS: Mapping[str, tuple[str, ...]] = {
    "kind": tuple(kind.value for kind in BikeKind),
    "post_kind": ("round", "shaped", "dropper", "mast"),
    "cockpit": ("separate", "one_piece"),
    "bar_kind": ("drop", "flat", "aero"),
    "pedal_kind": ("clip_three_bolt", "clip_two_bolt", "flat"),
    "routing": ("outside", "through_headset"),
    "indoors": ("yes", "no"),
}


@dataclass(frozen=True, slots=True)
class BenchMinutes:
    """Session minutes that a fault costs when it reaches the slot: lognormal by its median and 90th percentile."""

    median_min: float
    p90_min: float


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way to put a fault right.

    ``lead_days`` is the number of the studio's working days it takes from start to finish; ``part`` names what to bring or
    to buy, empty where nothing is needed. A remedy that only ``prepares`` lets the studio plan, and puts nothing right by
    itself.
    """

    key: str
    who: Who
    title: str
    detail: str
    lead_days: int
    part: str = ""
    cost: CostBand = CostBand.LOW
    prepares: bool = False


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that can be wrong, what it does to the session, and how it is put right.

    ``rate`` is the share of riders of whom nothing is known that have this fault: a starting estimate.
    ``unreliable`` faults falsify what is measured until they are put right. ``exposed`` says for an exposure, by its key, how many
    times as frequent the fault is among riders who are exposed as among those who are not.
    """

    key: str
    title: str
    rider_text: str
    rate: float
    effects: Mapping[Adjustment, Freedom] = field(default_factory=dict)
    minutes: BenchMinutes | None = None
    hazard: Hazard = Hazard.NONE
    unreliable: bool = False
    remedies: tuple[str, ...] = ()
    exposed: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class AnswerOption:
    """One answer that a rider can choose; ``faults`` gives the probability of each fault of the check, at most 1 in all.

    ``side`` says on which side the fault is, None where the answer does not tell. ``share`` is, for an answer without a fault, the
    share of riders of whom nothing is known that would give it, among those without a fault; answers without a share divide
    what is left equally.
    """

    key: str
    label: str
    faults: Mapping[str, float] = field(default_factory=dict)
    side: Side | None = None
    share: float | None = None


@dataclass(frozen=True, slots=True)
class NumberField:
    """A length that the rider measures, in millimetres; outside [minimum_mm, maximum_mm] it is refused with ``refusal``."""

    key: str
    label: str
    minimum_mm: float
    maximum_mm: float
    refusal: str


@dataclass(frozen=True, slots=True)
class NumberRule:
    """A length, or the absolute difference of two, that means a fault when it is at most / at least a limit."""

    fault: str
    field: str
    minus: str = ""
    at_most_mm: float | None = None
    at_least_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """Ask a check only when a bike fact (``bike.<fact>``) or an earlier answer (``answer.<check>``) is one of ``among``.

    ``unless`` turns it round. An answer that is not yet given satisfies neither form of an ``answer.`` condition that
    lists it, so ``among`` conditions wait for their answer and ``unless`` conditions let the check be asked. An unknown
    bike fact lets the check be asked in both forms. A check is asked when all its conditions hold.
    """

    subject: str
    among: tuple[str, ...]
    unless: bool = False


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at or try.

    Every check also takes the answer ``could_not``, and counts as unknown then; the field of that name holds its words
    where "I could not do it" does not fit. ``home_min`` is the rider's time in minutes. ``kinds`` empty means every kind
    of bike. ``fact`` names the bike fact (a key of ``BIKE_FACTS``) that the check asks for: once that fact is known the
    check is not asked and the option of the same key stands as its answer, so that what the fact means for the session
    still counts.
    """

    key: str
    group: Group
    title: str
    question: str
    why: str
    steps: tuple[str, ...]
    tools: tuple[str, ...]
    home_min: float
    caution: str
    options: tuple[AnswerOption, ...]
    faults: tuple[Fault, ...]
    numbers: tuple[NumberField, ...] = ()
    rules: tuple[NumberRule, ...] = ()
    kinds: tuple[BikeKind, ...] = ()
    conditions: tuple[Condition, ...] = ()
    fact: str = ""
    could_not: str = ""

    def fault(self, key: str) -> Fault:
        """Return the fault with this key; KeyError where there is none."""
        for fault in self.faults:
            if fault.key == key:
                return fault
        raise KeyError(key)


@dataclass(frozen=True, slots=True)
class BodyArea:
    """A part of the body in which a rider can report discomfort; ``sided`` areas are asked left and right."""

    key: str
    label: str
    sided: bool


@dataclass(frozen=True, slots=True)
class Link:
    """A complaint in a body area beside a finding (``check.fault``) that is worth ruling out first: a possibility, never a cause.

    ``source`` says where that comes from, in a sentence for the fitter.
    """

    area: str
    finding: str
    evidence: Evidence
    source: str
    sides: LinkSides = LinkSides.EITHER


@dataclass(frozen=True, slots=True)
class Exposure:
    """Something that a bike is exposed to or is not, nobody knows for sure, and that makes several faults likelier together.

    ``check`` names the check that speaks of it, and ``given`` the share of exposed bikes by its answers. Without such a check,
    ``share`` is the share among all.
    """

    key: str
    title: str
    why: str
    check: str = ""
    given: Mapping[str, float] = field(default_factory=dict)
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Moot:
    """When ``fault`` is there and its minutes are spent, the faults in ``spared`` cost none of their own; both are ``check.fault``."""

    fault: str
    spared: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All of one version: checks, remedies, body areas, links between complaints and findings, and what hangs together."""

    version: str
    checks: tuple[Check, ...]
    remedies: Mapping[str, Remedy]
    areas: tuple[BodyArea, ...]
    links: tuple[Link, ...] = ()
    exposures: tuple[Exposure, ...] = ()
    moots: tuple[Moot, ...] = ()

    def check(self, key: str) -> Check:
        """Return the check with this key; KeyError where there is none."""
        for check in self.checks:
            if check.key == key:
                return check
        raise KeyError(key)

    def titles(self) -> dict[str, str]:
        """Return the titles of all checks and faults by the keys that findings and decisions have."""
        titles = {check.key: check.title for check in self.checks}
        return titles | {f"{check.key}.{fault.key}": fault.title for check in self.checks for fault in check.faults}
