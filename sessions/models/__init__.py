"""The studio's time, and what was measured and changed in it."""

from sessions.models.costs import RemedyCosts
from sessions.models.decisions import SlotChoice, SlotDecision
from sessions.models.fit_sessions import FitSession, Occupancy, StateChange
from sessions.models.fits import (
    BodyMeasure,
    ClosingStep,
    ComponentChange,
    FitRecord,
    PartToOrder,
    Reading,
    SafetyEntry,
    SolvedPosition,
    TimeLoss,
)
from sessions.models.studios import Bay, Closure, Fitter, OpeningHours, Service, Studio

__all__ = [
    "Bay",
    "BodyMeasure",
    "ClosingStep",
    "Closure",
    "ComponentChange",
    "FitRecord",
    "FitSession",
    "Fitter",
    "Occupancy",
    "OpeningHours",
    "PartToOrder",
    "Reading",
    "RemedyCosts",
    "SafetyEntry",
    "Service",
    "SlotChoice",
    "SlotDecision",
    "SolvedPosition",
    "StateChange",
    "Studio",
    "TimeLoss",
]
