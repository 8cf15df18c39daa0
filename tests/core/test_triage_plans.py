"""Plans: the cheapest way to be ready in time, and the day on which there is one."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given as drawn
from hypothesis import settings

from intake.catalogue.schema import Adjustment, CostBand, Hazard, Remedy, Who
from intake.triage import plan_search
from intake.triage.answers import Ruling
from intake.triage.deadlines import is_working_day
from intake.triage.engine import triage
from intake.triage.plan_search import Problem, price, rank
from intake.triage.plans import carried_out, find_plans
from intake.triage.terms import Amount, RemedyTerms, StudioTerms
from intake.triage.verdict import Verdict
from intake.triage.ways_out import AT_BENCH, ways_out
from tests import strategies
from tests.core.catalogues import REMEDIES, WEDNESDAY, check, fault, given, maybe, slot

HEIGHT, REACH = Adjustment.SADDLE_HEIGHT, Adjustment.BAR_REACH
FREE_GREASE = StudioTerms(remedies={"grease": RemedyTerms(cost=CostBand.FREE)})
POST = check("post", fault("stuck", minutes=None, locks=[HEIGHT], remedies=("grease", "workshop")))
CRASH = check("crash", fault("fall", minutes=None, hazard=Hazard.DO_NOT_RIDE, remedies=("wash", "workshop", "bench")))
CLEATS = check("cleats", fault("worn", minutes=(3, 5), unreliable=True, remedies=("new_cleats",)))
LEVERS = check("levers", fault("differ", minutes=(30, 40), remedies=("bench", "workshop")))
GEARS = check("gears", fault("slip", minutes=(30, 40), remedies=("workshop",)))
DIRT = check("dirt", fault("dirty", minutes=(10, 12), remedies=("wash",)))
PAIN = check("pain", fault("numb", minutes=None, hazard=Hazard.SEE_CLINICIAN))


def planned(*checks, where=None, rulings=None, **answers):
    """The plans for these checks, each with its first fault unless it is answered otherwise."""
    said = {each.key: each.faults[0].key for each in checks} | answers
    one = given(*checks, answers={key: option for key, option in said.items() if option}, slot=where or slot())
    one = replace(one, rulings=rulings or {})
    return find_plans(one, triage(one))


def chosen(plan):
    """Each finding of a plan with its remedy."""
    return set(plan.key.split())


def days_left(days, **other):
    """A slot so many working days away, at most a week."""
    return slot(today=WEDNESDAY - timedelta(days=days), **other)


# ── What a plan is ───────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_plan_says_who_does_what_by_when_and_what_it_unlocks():
    """The stuck post: greasing it takes the rider a day, and costs least."""
    (plan,) = planned(POST, where=slot(terms=FREE_GREASE)).plans
    (errand,) = plan.errands
    assert (errand.who, errand.cost, errand.ruling) == (Who.RIDER, CostBand.FREE, Ruling.FIX_FIRST)
    assert (errand.way.fix_by, errand.way.first_ready_on) == (date(2026, 3, 17), date(2026, 3, 5))
    assert (errand.unlocks, errand.lifts_hazard) == ((HEIGHT,), False)
    assert (plan.cost, plan.people, plan.verdict, plan.chance) == (0, 1, Verdict.CLEAR, 1)
    assert chosen(plan) == {"post.stuck:grease"}


@pytest.mark.parametrize("checks", [(), (PAIN, POST), (check("fine", fault("worn", minutes=(1, 2))),)])
def test_nothing_is_planned_where_nothing_stands_in_the_way_that_a_remedy_is_for(checks):
    """Neither for a sound bike, nor while a clinician comes first."""
    assert not planned(*checks).needed


def test_the_cheapest_comes_first_then_the_fewest_people():
    """Two faults: rider and workshop for less, or the workshop alone."""
    other = check("stem", fault("seized", minutes=None, locks=[HEIGHT], remedies=("workshop",)))
    dear, cheap = planned(POST, other).plans, planned(POST, other, where=slot(terms=FREE_GREASE)).plans
    assert [(plan.cost, plan.people) for plan in dear] == [(20, 1)]
    assert [(plan.cost, plan.people) for plan in cheap] == [(20, 1)]
    assert chosen(dear[0]) == {"post.stuck:workshop", "stem.seized:workshop"}


def test_a_remedy_that_serves_two_findings_is_paid_once():
    """One visit to the workshop; greasing would cost as much again, whatever the amounts."""
    terms = StudioTerms(amounts={CostBand.LOW: Amount(30, 50)}, currency="GBP")
    other = check("stem", fault("seized", minutes=None, locks=[HEIGHT], remedies=("workshop",)))
    (plan,) = planned(POST, other, where=slot(terms=terms)).plans
    (errand,) = plan.errands
    assert (plan.cost, [each.key for each in errand.findings]) == (40, ["post.stuck", "stem.seized"])


def test_of_minutes_only_as_many_are_put_right_as_must_be():
    """Dirt alone fits the slack, and so does no other: the two slow faults are put right, the dirt may stay."""
    (plan, *_others) = planned(GEARS, DIRT).plans
    assert chosen(plan) == {"gears.slip:workshop"}
    assert plan.verdict is Verdict.CLEAR
    assert 0.75 <= plan.chance < 1
    assert plan.errands[0].minutes_gained == pytest.approx(triage_min(GEARS, "slip"))


def triage_min(one, option):
    """The mean bench minutes of a fault that is there."""
    return triage(given(one, answers={one.key: option})).findings[0].expected_min


def test_the_studio_does_it_at_the_bench_where_the_minutes_still_fit():
    """It costs nothing but time; with less slack the workshop has it."""
    barred = check("levers", fault("differ", minutes=(5, 10), locks=[HEIGHT], remedies=("bench", "workshop")))
    terms = StudioTerms(remedies={"bench": RemedyTerms(cost=CostBand.FREE)})
    (roomy, *_more) = planned(barred, where=slot(slack_min=15, terms=terms)).plans
    (narrow,) = planned(barred, where=slot(slack_min=4, terms=terms)).plans
    assert [errand.ruling for errand in roomy.errands] == [Ruling.STUDIO]
    assert roomy.errands[0].minutes_gained == 0
    assert chosen(narrow) == {"levers.differ:workshop"}


def test_work_at_the_bench_needs_no_remedy_of_its_own_unless_a_part_is_wanted():
    """What a workshop does without a part the studio can do, too, for its minutes."""
    bolt = check("bolt", fault("seized", minutes=(5, 10), locks=[HEIGHT], remedies=("workshop",)))
    (plan, *_more) = planned(bolt).plans
    assert chosen(plan) == {f"bolt.seized:{AT_BENCH.key}"}
    cable = check("cable", fault("short", minutes=(5, 10), locks=[HEIGHT], remedies=("new_cleats",)))
    (other,) = planned(cable, cable="short", where=slot(essential=[HEIGHT, REACH])).plans or (None,)
    assert other is None


def test_a_part_that_comes_along_holds_the_session_with_the_part_named():
    """A sunk saddle falsifies readings: bringing another is cheaper than the workshop, and it is in time when that no longer is."""
    saddle = check("saddle", fault("sunk", minutes=(3, 5), unreliable=True, remedies=("new_cleats", "workshop")))
    terms = StudioTerms(remedies={"workshop": RemedyTerms(cost=CostBand.HIGH)})
    (plan,) = planned(saddle, where=days_left(2, terms=terms, slack_min=30)).plans
    assert (chosen(plan), plan.verdict) in [
        ({"saddle.sunk:new_cleats"}, Verdict.BRING_PARTS),
        ({f"saddle.sunk:{AT_BENCH.key}"}, Verdict.CLEAR),
    ]
    with_a_part = {"workshop": RemedyTerms(cost=CostBand.HIGH), "new_cleats": RemedyTerms(cost=CostBand.FREE)}
    plans = planned(saddle, where=slot(terms=StudioTerms(remedies=with_a_part), slack_min=30)).plans
    assert [plan.cost for plan in plans] == sorted(plan.cost for plan in plans)
    assert plans[0].cost == 0


def test_a_hazard_is_for_a_workshop_alone():
    """Neither washing nor the studio's bench lets anybody ride it."""
    (plan,) = planned(CRASH).plans
    assert chosen(plan) == {"crash.fall:workshop"}
    assert plan.errands[0].lifts_hazard


def test_what_only_prepares_puts_nothing_right():
    """A note to the studio is no plan."""
    note = Remedy("note", Who.RIDER, "Send a note", "With sizes.", lead_days=0, cost=CostBand.FREE, prepares=True)
    one = given(
        check("bar", fault("one_piece", minutes=None, locks=[HEIGHT], remedies=("note",))), answers={"bar": "one_piece"}
    )
    one = replace(one, catalogue=replace(one.catalogue, remedies=REMEDIES | {"note": note}))
    found = find_plans(one, triage(one))
    assert (found.plans, found.ready_on, [reason.code for reason in found.left]) == ((), None, ["locked"])


def test_what_is_ruled_to_be_fixed_first_stays_with_rider_and_workshop():
    """The bench is no longer offered while one of them can do it in time; after that it is."""
    slow = check("slow", fault("seized", minutes=(5, 10), locks=[HEIGHT], remedies=("workshop",)))
    ruled = {"slow.seized": Ruling.FIX_FIRST}
    assert [chosen(plan) for plan in planned(slow, rulings=ruled).plans] == [{"slow.seized:workshop"}]
    assert [chosen(plan) for plan in planned(slow, rulings=ruled, where=days_left(2)).plans] == [
        {f"slow.seized:{AT_BENCH.key}"}
    ]


def test_work_planned_for_the_bench_that_does_not_fit_goes_elsewhere():
    """The fitter meant to do it; its minutes are too many."""
    ruled = {"gears.slip": Ruling.STUDIO}
    (plan,) = planned(GEARS, rulings=ruled).plans
    assert plan.rulings == {"gears.slip": Ruling.FIX_FIRST}


def test_a_doubt_that_a_remedy_settles_is_settled():
    """With the post freed, the bolts that may be seized would still have to be asked about; cleaning them is free."""
    bolts = check(
        "bolts",
        fault("seized", minutes=None, locks=[REACH], remedies=("grease",)),
        options=(maybe("rusty", seized=0.3),),
    )
    where = slot(essential=[HEIGHT, REACH])
    (plan,) = planned(CRASH, bolts, bolts="rusty", where=where).plans
    assert chosen(plan) == {"crash.fall:workshop", "bolts.seized:grease"}
    assert plan.verdict is Verdict.CLEAR


def test_where_answers_are_missing_a_plan_leads_to_the_questions():
    """No remedy answers them."""
    often = check("often", fault("stuck", rate=0.3, minutes=None, locks=[REACH]))
    where = slot(essential=[HEIGHT, REACH])
    (plan,) = planned(CRASH, often, often="", where=where).plans
    assert (chosen(plan), plan.verdict) == ({"crash.fall:workshop"}, Verdict.ASK_RIDER)


# ── A studio's own terms ─────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_workshop_round_the_corner_makes_a_plan_fit():
    """Two working days instead of five."""
    near = StudioTerms(remedies={"workshop": RemedyTerms(lead_days=2)})
    assert not planned(CRASH, where=days_left(2)).plans
    (plan,) = planned(CRASH, where=days_left(2, terms=near)).plans
    assert plan.start_by == WEDNESDAY - timedelta(days=2)


@pytest.mark.parametrize(
    ("grease", "workshop", "first"),
    [(CostBand.FREE, CostBand.LOW, "grease"), (CostBand.HIGH, CostBand.LOW, "workshop")],
)
def test_a_studios_own_bands_order_the_plans(grease, workshop, first):
    """Whoever is cheaper there."""
    terms = StudioTerms(remedies={"grease": RemedyTerms(cost=grease), "workshop": RemedyTerms(cost=workshop)})
    plans = planned(POST, where=slot(terms=terms)).plans
    assert chosen(plans[0]) == {f"post.stuck:{first}"}
    assert [plan.cost for plan in plans] == sorted(plan.cost for plan in plans)


def test_a_band_counts_the_middle_of_its_amounts_and_nothing_is_free_but_what_is_free():
    """Amounts where they are set, usual weights elsewhere."""
    terms = StudioTerms(amounts={CostBand.LOW: Amount(15, 45)})
    assert [terms.weight(band) for band in CostBand] == [0, 30, 70, 200]


# ── Where no plan fits ───────────────────────────────────────────────────────────────────────────────────────────────────


def test_without_a_plan_it_says_what_is_too_late_and_from_which_day_it_would_fit():
    """Two days left, a week's work: begun today, Monday 16 March, it is done on Monday the 23rd."""
    found = planned(CRASH, where=days_left(2))
    assert (found.needed, found.plans, found.ready_on) == (True, (), date(2026, 3, 23))
    assert [errand.way.remedy.key for errand in found.too_late] == ["workshop"]
    assert chosen(found.later) == {"crash.fall:workshop"}


def test_where_no_remedy_helps_on_any_day_it_says_what_is_left():
    """The studio's own work is more than the slot holds, and there is nobody else."""
    slow = check("slow", fault("matched", minutes=(60, 90), remedies=("bench",)))
    found = planned(slow)
    assert (found.plans, found.ready_on, found.later) == ((), None, None)
    assert [reason.code for reason in found.left] == ["bench_overrun"]


def test_a_search_that_would_take_too_long_still_offers_a_plan_and_says_so(monkeypatch):
    """Everything that can be put right before the session is."""
    monkeypatch.setattr(plan_search, "MOST_JUDGED", 4)
    slow = [check(f"slow{n}", fault("slow", minutes=(20, 30), remedies=("grease", "workshop"))) for n in range(6)]
    found = planned(*slow)
    assert not found.complete
    assert [plan.verdict for plan in found.plans] == [Verdict.CLEAR]


# ── Properties ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def cheapest(one, found):
    """The rank of the best choice there is, from trying every one; None where none is enough."""
    problem = Problem(replace(one, slot=found.slot), found)
    options = [(None, *ways_out(each, one.slot)) for each in problem.candidates]
    assert len(options) <= 5
    every = [tuple(way for way in ways if way) for ways in product(*options)]
    good = [ways for ways in every if held(triage(carried_out(one, ways)))]
    return min((rank(ways, problem) for ways in good), default=None)


def held(found):
    """Whether a session goes ahead."""
    return found.verdict in {Verdict.CLEAR, Verdict.BRING_PARTS}


@settings(max_examples=30)
@drawn(strategies.planned_inputs())
def test_no_cheaper_choice_is_enough(one):
    """By trying every combination of every remedy in time."""
    found = triage(one)
    plans = find_plans(one, found)
    if not plans.needed:
        return
    best = cheapest(one, found)
    assert (best is None) == (not plans.plans)
    if best is not None:
        problem = Problem(one, found)
        by_key = {(way.finding.key, way.way.remedy.key): way for ways in problem.options for way in ways}
        first = tuple(by_key[tuple(pair.split(":"))] for pair in plans.plans[0].key.split())
        assert rank(first, problem) == best
        assert plans.plans[0].cost == price(first, problem)


@settings(max_examples=30)
@drawn(strategies.triage_inputs())
def test_a_plan_carried_out_keeps_its_promise_in_time(one):
    """Whatever a rider answers and a fitter rules: the verdict and the chance are those of the engine itself, and no day has passed."""
    found = triage(one)
    for plan in find_plans(one, found).plans:
        ruled = {key: Ruling.FIXED if ruling is Ruling.FIX_FIRST else ruling for key, ruling in plan.rulings.items()}
        after = triage(replace(one, rulings={**one.rulings, **ruled}))
        assert (after.verdict, after.forecast.chance) == (plan.verdict, plan.chance)
        assert after.verdict not in {Verdict.DO_NOT_RIDE, Verdict.FIX_FIRST}
        assert one.slot.today <= plan.start_by
        assert plan.ready_on <= one.slot.starts_on
        assert set(plan.rulings) <= {finding.key for finding in found.findings}


@settings(max_examples=25)
@drawn(strategies.planned_inputs())
def test_no_part_of_a_plan_could_be_left_out(one):
    """Without any one finding put right the session is not held."""
    for plan in find_plans(one, triage(one)).plans:
        for left_out in plan.rulings:
            rulings = {key: ruling for key, ruling in plan.rulings.items() if key != left_out}
            ruled = {key: Ruling.FIXED if each is Ruling.FIX_FIRST else each for key, each in rulings.items()}
            assert not held(triage(replace(one, rulings=ruled)))


@settings(max_examples=25)
@drawn(strategies.planned_inputs())
def test_more_days_and_more_slack_never_lose_a_plan(one):
    """Nor do they make the cheapest dearer."""
    plans = find_plans(one, triage(one))
    if not plans.plans:
        return
    for more in (
        replace(one.slot, starts_on=one.slot.starts_on + timedelta(days=7)),
        replace(one.slot, slack_min=one.slot.slack_min + 10),
    ):
        roomier = replace(one, slot=more)
        now = find_plans(roomier, triage(roomier))
        assert not now.needed or now.plans[0].cost <= plans.plans[0].cost + 1e-9


@settings(max_examples=25)
@drawn(strategies.planned_inputs())
def test_the_day_from_which_a_plan_fits_is_the_first_one(one):
    """No working day between the session and that one has a plan; that one has."""
    plans = find_plans(one, triage(one))
    if plans.ready_on is None:
        return

    def on(day):
        moved = replace(one, slot=replace(one.slot, starts_on=day))
        found = triage(moved)
        return held(found) or bool(find_plans(moved, found).plans)

    assert on(plans.ready_on)
    between = (one.slot.starts_on + timedelta(days=n) for n in range(1, (plans.ready_on - one.slot.starts_on).days))
    assert not any(on(day) for day in between if is_working_day(day, one.slot.working_days))
