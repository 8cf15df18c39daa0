"""What Hypothesis draws for the triage: catalogues, answers, rulings, slots."""

from datetime import date, timedelta

from hypothesis import strategies as st

from intake.catalogue.schema import (
    COULD_NOT,
    Adjustment,
    AnswerOption,
    BenchMinutes,
    BikeKind,
    Condition,
    CostBand,
    Evidence,
    Freedom,
    Group,
    Hazard,
    Link,
    LinkSides,
    NumberField,
    NumberRule,
    Side,
)
from intake.triage.answers import Answer, BikeFacts, Complaint, Experience, Ruling, Slot, TriageInput, WorkingDays
from intake.triage.terms import RemedyTerms, StudioTerms
from tests.core.catalogues import AREAS, REMEDIES, catalogue, check, fault

probabilities = st.floats(0, 1, allow_subnormal=False)


# ── Forecast ─────────────────────────────────────────────────────────────────────────────────────────────────────────────


@st.composite
def bench_minutes(draw):
    """Minutes from a moment to hours, from exact to very unsure."""
    median_min = draw(st.floats(0.5, 120))
    return BenchMinutes(median_min, median_min * draw(st.floats(1, 5)))


@st.composite
def shares(draw, count):
    """Probabilities of exclusive faults, adding to at most 1."""
    left, found = 1.0, []
    for _ in range(count):
        found.append(draw(st.floats(0, left, allow_subnormal=False)))
        left = max(0.0, left - found[-1])
    return found


@st.composite
def parts(draw):
    """The faults of one check as the forecast takes them."""
    count = draw(st.integers(0, 3))
    minutes = draw(st.lists(st.none() | bench_minutes(), min_size=count, max_size=count))
    return list(zip(draw(shares(count)), minutes, strict=True))


# ── Catalogues ───────────────────────────────────────────────────────────────────────────────────────────────────────────

effects = st.dictionaries(st.sampled_from(Adjustment), st.sampled_from(Freedom), max_size=3)
remedy_keys = st.lists(st.sampled_from(sorted(REMEDIES)), max_size=3, unique=True).map(tuple)


@st.composite
def faults(draw):
    """Up to three exclusive faults of one check."""
    rates = draw(shares(draw(st.integers(0, 3))))
    return tuple(_fault(draw, f"fault{place}", rate) for place, rate in enumerate(rates))


def _fault(draw, key, rate):
    degrees = draw(effects)
    minutes = draw(st.none() | bench_minutes())
    return fault(
        key,
        rate=rate,
        minutes=(minutes.median_min, minutes.p90_min) if minutes else None,
        locks=[each for each, degree in degrees.items() if degree is Freedom.LOCKED],
        limits=[each for each, degree in degrees.items() if degree is Freedom.LIMITED],
        remedies=draw(remedy_keys),
        hazard=draw(st.sampled_from(Hazard) | st.just(Hazard.NONE)),
        unreliable=draw(st.booleans()),
    )


@st.composite
def checks(draw, key, earlier=()):
    """A check that may depend on the bike's kind, on a fact or on an earlier check, with a doubtful option and a length."""
    found = draw(faults())
    doubt = draw(shares(len(found)))
    ruled = found[0].key if found and draw(st.booleans()) else None
    return check(
        key,
        *found,
        options=(
            AnswerOption("doubtful", "Not sure", dict(zip([f.key for f in found], doubt, strict=True))),
            *([AnswerOption("left", "On the left", {found[0].key: 1.0}, Side.LEFT)] if found else []),
        ),
        group=draw(st.sampled_from(Group)),
        home_min=draw(st.integers(1, 10)),
        kinds=draw(st.sampled_from([(), (BikeKind.ROAD,), (BikeKind.CITY, BikeKind.ROAD), (BikeKind.CITY,)])),
        conditions=draw(conditions(earlier)),
        fact=draw(st.sampled_from(["", "", "indoors"])),
        numbers=(NumberField("length_mm", "Length", 0, 100, "A length from 0 to 100 mm."),) if ruled else (),
        rules=(NumberRule(ruled, "length_mm", at_most_mm=10),) if ruled else (),
    )


def conditions(earlier):
    """No condition, or one on an earlier check or on a fact of the bike."""
    subjects = [f"answer.{key}" for key in earlier] + ["bike.indoors", "bike.kind"]
    one = st.builds(
        Condition,
        subject=st.sampled_from(subjects),
        among=st.sampled_from([("fine",), ("fault0", COULD_NOT), ("fine", "doubtful"), ("road",)]),
        unless=st.booleans(),
    )
    return st.just(()) | st.tuples(one)


links = st.builds(
    Link,
    area=st.sampled_from([area.key for area in AREAS]),
    finding=st.builds("check{}.fault{}".format, st.integers(0, 5), st.integers(0, 2)),
    evidence=st.sampled_from(Evidence),
    source=st.just("Common practice, no source."),
    sides=st.sampled_from(LinkSides),
)


@st.composite
def catalogues(draw, most=5):
    """A catalogue of up to five checks."""
    keys = [f"check{place}" for place in range(draw(st.integers(0, most)))]
    drawn = [draw(checks(key, keys[:place])) for place, key in enumerate(keys)]
    return catalogue(*drawn, links=draw(st.lists(links, max_size=6)))


# ── What a rider and a fitter can say ────────────────────────────────────────────────────────────────────────────────────

odd_lengths = st.floats() | st.sampled_from([0, 5, 10, 10.5, 99, 101, -1])
answers = st.builds(
    Answer,
    option=st.sampled_from(["", "fine", "doubtful", "left", "fault0", "fault1", "fault2", COULD_NOT, "retired"])
    | st.text(max_size=5),
    lengths_mm=st.dictionaries(st.sampled_from(["length_mm", "retired_mm"]), odd_lengths, max_size=2),
)
complaints = st.builds(
    Complaint,
    area=st.sampled_from([area.key for area in AREAS]) | st.just("retired"),
    side=st.sampled_from(["", "left", "right", "both"]),
    score=st.integers(0, 10),
)
bikes = st.builds(
    BikeFacts,
    kind=st.sampled_from(BikeKind),
    facts=st.dictionaries(st.sampled_from(["indoors", "retired"]), st.sampled_from(["fine", "yes", "no"]), max_size=2),
)
keys = st.sampled_from([f"check{place}" for place in range(6)])
finding_keys = st.builds("{}.fault{}".format, keys, st.integers(0, 2)) | keys


# ── Slots ────────────────────────────────────────────────────────────────────────────────────────────────────────────────

days = st.dates(date(2026, 1, 1), date(2027, 12, 31))
working_days = st.builds(
    WorkingDays,
    open_weekdays=st.frozensets(st.integers(0, 6), min_size=1),
    closed=st.frozensets(days, max_size=10),
)


@st.composite
def slots(draw):
    """A slot of any length in the next eight weeks, or today, or already past."""
    today = draw(days)
    return Slot(
        planned_min=draw(st.integers(1, 400)),
        slack_min=draw(st.integers(0, 90)),
        essential=draw(st.frozensets(st.sampled_from(Adjustment))),
        starts_on=today + timedelta(days=draw(st.integers(-3, 56))),
        today=today,
        working_days=draw(working_days),
    )


@st.composite
def triage_inputs(draw):
    """Anything that a triage can be given."""
    return TriageInput(
        catalogue=draw(catalogues()),
        bike=draw(bikes),
        answers=draw(st.dictionaries(keys, answers, max_size=6)),
        complaints=tuple(draw(st.lists(complaints, max_size=3))),
        slot=draw(slots()),
        rulings=draw(st.dictionaries(finding_keys, st.sampled_from(Ruling), max_size=4)),
        experience=Experience(
            rates=draw(st.dictionaries(finding_keys, probabilities, max_size=2)),
            minutes=draw(st.dictionaries(finding_keys, bench_minutes(), max_size=2)),
        ),
    )


# ── Plans ────────────────────────────────────────────────────────────────────────────────────────────────────────────────

remedy_terms = st.builds(
    RemedyTerms, cost=st.none() | st.sampled_from(CostBand), lead_days=st.none() | st.integers(0, 12)
)
studio_terms = st.builds(StudioTerms, remedies=st.dictionaries(st.sampled_from(sorted(REMEDIES)), remedy_terms))


@st.composite
def planned_inputs(draw):
    """A session of the next weeks with faults that are there for certain, not yet ruled on, and a studio's own terms."""
    catalogue = draw(catalogues(most=4))
    today = draw(days)
    return TriageInput(
        catalogue=catalogue,
        bike=BikeFacts(BikeKind.ROAD),
        answers={each.key: Answer(draw(st.sampled_from(_for_certain(each)))) for each in catalogue.checks},
        complaints=(),
        slot=Slot(
            planned_min=draw(st.integers(30, 200)),
            slack_min=draw(st.integers(0, 60)),
            essential=draw(st.frozensets(st.sampled_from(Adjustment))),
            starts_on=today + timedelta(days=draw(st.integers(0, 20))),
            today=today,
            working_days=draw(working_days),
            terms=draw(studio_terms),
        ),
    )


def _for_certain(one):
    return [option.key for option in one.options if option.key != "doubtful"]
