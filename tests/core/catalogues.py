"""Small catalogues, slots and inputs for the triage's tests, built in code."""

from datetime import date

from intake.catalogue.schema import (
    Adjustment,
    AnswerOption,
    BenchMinutes,
    BikeKind,
    BodyArea,
    Catalogue,
    Check,
    Evidence,
    Fault,
    Freedom,
    Group,
    Link,
    LinkSides,
    Remedy,
    Who,
)
from intake.triage.answers import Answer, BikeFacts, Slot, TriageInput, WorkingDays

WEEKDAYS = WorkingDays(frozenset(range(5)))
WEDNESDAY = date(2026, 3, 18)
TWO_WEEKS_BEFORE = date(2026, 3, 4)
ROAD = BikeFacts(BikeKind.ROAD)

REMEDIES = {
    remedy.key: remedy
    for remedy in (
        Remedy("wash", Who.RIDER, "Wash it", "With water.", lead_days=0),
        Remedy("grease", Who.RIDER, "Grease it", "Thinly.", lead_days=1),
        Remedy("workshop", Who.WORKSHOP, "A workshop frees it", "Takes a week.", lead_days=5),
        Remedy("new_cleats", Who.BRING, "Bring new cleats", "Of the same system.", lead_days=2, part="new cleats"),
        Remedy("other_stem", Who.BRING, "Bring another stem", "One that rises.", lead_days=2, part="a rising stem"),
        Remedy("bench", Who.STUDIO, "The studio does it", "In the session.", lead_days=0),
    )
}
AREAS = (BodyArea("knee", "Knee", sided=True), BodyArea("neck", "Neck", sided=False))


def fault(key="stuck", *, rate=0.1, minutes=(20, 50), locks=(), limits=(), remedies=("workshop",), **other):
    """A fault that locks or limits adjustments and costs minutes by median and 90th percentile, or none."""
    effects = dict.fromkeys(limits, Freedom.LIMITED) | dict.fromkeys(locks, Freedom.LOCKED)
    return Fault(
        key=key,
        title=other.pop("title", key.replace("_", " ").capitalize()),
        rider_text=f"About {key}.",
        rate=rate,
        effects=effects,
        minutes=BenchMinutes(*minutes) if minutes else None,
        remedies=remedies,
        **other,
    )


def check(key="post", *faults, options=(), group=Group.SEAT, home_min=2.0, **other):
    """A check that can be answered `fine`, by each fault's key for certain, or by further options."""
    return Check(
        key=key,
        group=group,
        title=f"Check of {key}",
        question=f"How is the {key}?",
        why="Because.",
        steps=("Look.",),
        tools=(),
        home_min=home_min,
        caution=other.pop("caution", ""),
        options=(
            AnswerOption("fine", "Fine"),
            *(AnswerOption(each.key, each.title, {each.key: 1.0}) for each in faults),
            *options,
        ),
        faults=faults,
        **other,
    )


def maybe(key, **probabilities):
    """A doubtful answer."""
    return AnswerOption(key, key.capitalize(), probabilities)


def link(area, finding, evidence=Evidence.COMMON_PRACTICE, sides=LinkSides.EITHER):
    """A complaint beside a finding that is worth ruling out first."""
    return Link(area, finding, evidence, "Common practice, no source.", sides)


def catalogue(*checks, links=()):
    """A catalogue of these checks, with the remedies and areas of this module."""
    return Catalogue("test", checks, REMEDIES, AREAS, tuple(links))


def slot(planned_min=120, slack_min=15, essential=(Adjustment.SADDLE_HEIGHT,), **other):
    """A slot on a Wednesday two weeks away, in a studio that works on weekdays."""
    values = {"starts_on": WEDNESDAY, "today": TWO_WEEKS_BEFORE, "working_days": WEEKDAYS} | other
    return Slot(planned_min, slack_min, frozenset(essential), **values)


def given(*checks, answers=None, bike=ROAD, complaints=(), links=(), **other):
    """What a triage is given: these checks, and answers by check key (an option's key or an Answer)."""
    answered = {key: one if isinstance(one, Answer) else Answer(one) for key, one in (answers or {}).items()}
    return TriageInput(
        catalogue(*checks, links=links), bike, answered, tuple(complaints), other.pop("slot", slot()), **other
    )
