"""What the triage is given, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from intake.catalogue.schema import Adjustment, BenchMinutes, BikeKind, Catalogue
from intake.triage.terms import StudioTerms


class Ruling(StrEnum):
    """A fitter's decision on one finding."""

    FIX_FIRST = "fix_first"
    STUDIO = "studio"
    BRING_PART = "bring_part"
    ACCEPT = "accept"
    NOT_A_FAULT = "not_a_fault"
    FIXED = "fixed"


@dataclass(frozen=True, slots=True)
class Answer:
    """A rider's answer to one check: the chosen option (or ``could_not``, or empty where only lengths were given) and lengths in mm."""

    option: str = ""
    lengths_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Complaint:
    """Discomfort in a body area; side is ``left``, ``right``, ``both`` or empty; score runs from 0 (none) to 10."""

    area: str
    side: str
    score: int


@dataclass(frozen=True, slots=True)
class BikeFacts:
    """The bike as far as the checks depend on it; ``facts`` maps a fact's name to its value, absent where unknown."""

    kind: BikeKind
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WorkingDays:
    """A studio's working days: open weekdays (Monday is 0) less closed dates (closures and public holidays)."""

    open_weekdays: frozenset[int]
    closed: frozenset[date] = frozenset()


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Where the verdicts change; studio settings.

    ``least_chance`` is the chance to run to plan below which a session is to be fixed first when known faults are to blame;
    ``ask_gain`` is the spread of that chance, between the best and the worst answers still possible, above which the rider is asked.
    ``unsure_locked`` is the probability from which something doubtful or unknown is worth a question, ``probably_locked`` that from
    which a doubtful answer counts like a sure one. Faults rarer than ``reckoned_from`` are not reckoned with among the worst answers.
    """

    least_chance: float = 0.75
    ask_gain: float = 0.20
    unsure_locked: float = 0.25
    probably_locked: float = 0.5
    reckoned_from: float = 0.02


@dataclass(frozen=True, slots=True)
class Slot:
    """What triage must know about the session: minutes, essential adjustments, its local date, today, working days, and what the
    studio says about remedies.
    """

    planned_min: int
    slack_min: int
    essential: frozenset[Adjustment]
    starts_on: date
    today: date
    working_days: WorkingDays
    thresholds: Thresholds = Thresholds()
    terms: StudioTerms = field(default_factory=StudioTerms, hash=False)


@dataclass(frozen=True, slots=True)
class Experience:
    """What a studio has learned: fault rates and bench minutes by finding key ``check.fault``; empty means the catalogue's own."""

    rates: Mapping[str, float] = field(default_factory=dict)
    minutes: Mapping[str, BenchMinutes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TriageInput:
    """Everything that a triage depends on; ``rulings`` is keyed by finding key ``check.fault``."""

    catalogue: Catalogue
    bike: BikeFacts
    answers: Mapping[str, Answer]
    complaints: tuple[Complaint, ...]
    slot: Slot
    rulings: Mapping[str, Ruling] = field(default_factory=dict)
    experience: Experience = Experience()
