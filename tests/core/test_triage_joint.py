"""Checks that depend on one another: everything against an enumeration of all that can be, one outcome at a time."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from intake.catalogue.schema import (
    COULD_NOT,
    Adjustment,
    AnswerOption,
    BikeKind,
    Catalogue,
    Check,
    Condition,
    Exposure,
    Group,
    Moot,
)
from intake.triage.answers import Answer, BikeFacts, Ruling, TriageInput
from intake.triage.deciding import deciding
from intake.triage.engine import triage
from intake.triage.forecast import horizon_cells
from intake.triage.lognormal import discretised
from tests.core.catalogues import AREAS, REMEDIES, ROAD, check, fault, maybe, slot
from tests.strategies import bench_minutes

HEIGHT, REACH = Adjustment.SADDLE_HEIGHT, Adjustment.BAR_REACH
SLOT = slot(planned_min=40, slack_min=12, essential=(HEIGHT,))
CELLS = horizon_cells(40, 12)


def tangled(*, rates=(0.1, 0.2, 0.1, 0.15, 0.1, 0.2, 0.3), minutes=(), factors=(3.0, 5.0), given=(0.7, 0.1), yes=0.3):
    """One-piece cockpit, stem and torque check that wait for it, post that spares the clamp, bolts that rust together indoors."""
    one_piece, seized, rounded, stuck, tight, corroded, wrong = rates
    spent = list(minutes) or [(45, 120), (25, 70), (10, 20), (40, 100), (15, 35), (20, 50), (5, 10)]
    whole = Check(
        "indoors", Group.WHOLE, "Indoors", "?", "Because.", ("Think.",), (), 1.0, "",
        options=(AnswerOption("yes", "Yes", share=yes), AnswerOption("no", "No")), faults=(),
    )  # fmt: skip
    checks = (
        whole,
        check("kind", fault("one_piece", rate=one_piece, minutes=spent[0])),
        check(
            "stem",
            fault(
                "seized", rate=seized, minutes=spent[1], limits=[HEIGHT], locks=[REACH], exposed={"salt": factors[0]}
            ),
            fault("rounded", rate=rounded, minutes=spent[2], limits=[HEIGHT], locks=[REACH]),
            options=(maybe("crusted", seized=0.4, rounded=0.1),),
            conditions=(Condition("answer.kind", ("one_piece",), unless=True),),
        ),
        check(
            "torque",
            fault("wrong", rate=wrong, minutes=spent[6]),
            conditions=(Condition("answer.kind", ("one_piece",)),),
        ),
        check(
            "post",
            fault("stuck", rate=stuck, minutes=spent[3], locks=[HEIGHT]),
            fault("tight", rate=tight, minutes=spent[4]),
        ),
        check(
            "clamp",
            fault("corroded", rate=corroded, minutes=spent[5], locks=[HEIGHT], exposed={"salt": factors[1]}),
            options=(maybe("rusty", corroded=0.4),),
        ),
    )
    exposure = Exposure("salt", "Salt", "Sweat.", check="indoors", given={"yes": given[0], "no": given[1]})
    return Catalogue(
        "test",
        checks,
        REMEDIES,
        AREAS,
        exposures=(exposure,),
        moots=(Moot("post.stuck", ("clamp.corroded",), "One job."),),
    )


def judged(catalogue, answers=None, **other):
    """The triage of these answers."""
    answered = {key: Answer(option) for key, option in (answers or {}).items()}
    return triage(TriageInput(catalogue, ROAD, answered, (), other.pop("where", SLOT), **other))


def outcomes(catalogue, answers):
    """Yield every outcome with its weight: which faults are there, and what costs minutes.

    Written for this catalogue alone and from its definition: draw the answer on riding indoors, then the salt, then each check's
    fault by its rate under that; weigh by how likely the given answers are, P(answer | fault) ∝ P(fault | answer) / P(fault).
    """
    exposure = catalogue.exposures[0]
    yes = catalogue.check("indoors").options[0].share
    share = yes * exposure.given["yes"] + (1 - yes) * exposure.given["no"]
    others = ["kind", "stem", "torque", "post", "clamp"]
    for indoors, salty in product(("yes", "no"), (False, True)):
        told = exposure.given[indoors] if salty else 1 - exposure.given[indoors]
        base = (yes if indoors == "yes" else 1 - yes) * told
        if answers.get("indoors") in {"yes", "no"} and answers["indoors"] != indoors:
            continue
        rates = {key: _rates(catalogue.check(key), salty, share) for key in others}
        usual = {key: _rates(catalogue.check(key), None, share) for key in others}
        for states in product(*(["", *(each.key for each in catalogue.check(key).faults)] for key in others)):
            turned = dict(zip(others, states, strict=True))
            weight = base * math.prod(
                _weight(catalogue.check(key), turned, answers, rates[key], usual[key]) for key in others
            )
            if weight > 0:
                yield weight, {"indoors": indoors} | turned, salty


def _rates(one, salty, share):
    rates = {}
    for each in one.faults:
        factor = each.exposed.get("salt")
        scale = 1.0 if factor is None or salty is None else (factor if salty else 1.0) / (1 - share + share * factor)
        rates[each.key] = each.rate * scale
    return {"": 1 - sum(rates.values())} | rates


def _weight(one, turned, answers, rates, usual):
    answer, state = answers.get(one.key), turned[one.key]
    option = next((each for each in one.options if each.key == answer), None)
    kind = answers.get("kind") if answers.get("kind") in {"fine", "one_piece"} else (turned["kind"] or "fine")
    asked = {"stem": answers.get("kind") != "one_piece", "torque": answers.get("kind") == "one_piece"}.get(
        one.key, True
    )
    if option is not None and asked:
        left = {"": 1 - sum(option.faults.values())} | dict(option.faults)
        return left.get(state, 0.0) * rates[state] / usual[state]
    there = {"stem": kind != "one_piece", "torque": kind == "one_piece"}.get(one.key, True)
    return rates[state] if there else float(state == "")


def lost(catalogue, turned):
    """The distribution of minutes when exactly these faults are there."""
    pmf = np.eye(1, CELLS)[0]
    for key, state in turned.items():
        moot = (key, state) == ("clamp", "corroded") and turned["post"] == "stuck"
        if key != "indoors" and state and not moot:
            wide = np.convolve(pmf, discretised(catalogue.check(key).fault(state).minutes, CELLS))
            pmf = np.append(wide[: CELLS - 1], wide[CELLS - 1 :].sum())
    return pmf


@st.composite
def tangles(draw):
    """A catalogue with any rates and minutes, and answers to some of its checks."""
    share = st.floats(0, 1, allow_subnormal=False)
    small = st.floats(0.001, 0.15)
    catalogue = tangled(
        rates=draw(st.lists(small, min_size=7, max_size=7)),
        minutes=[(m.median_min, m.p90_min) for m in draw(st.lists(bench_minutes(), min_size=7, max_size=7))],
        factors=draw(st.tuples(st.floats(0.2, 5), st.floats(0.2, 5))),
        given=draw(st.tuples(share, share)),
        yes=draw(share),
    )
    answers = {
        each.key: draw(st.sampled_from([None, COULD_NOT, *(option.key for option in each.options)]))
        for each in catalogue.checks
    }
    return catalogue, {key: option for key, option in answers.items() if option}


@settings(max_examples=80, deadline=None)
@drawn(tangles())
def test_the_forecast_is_exact(drawn_case):
    """Every cell of the distribution, to the twelfth digit."""
    catalogue, answers = drawn_case
    every = list(outcomes(catalogue, answers))
    total = sum(weight for weight, *_ in every)
    expected = sum(weight * lost(catalogue, turned) for weight, turned, _ in every) / total
    found = judged(catalogue, answers)
    np.testing.assert_allclose(found.forecast.pmf, expected, atol=1e-12)
    assert found.forecast.chance == pytest.approx(expected[:13].sum(), abs=1e-12)


@settings(max_examples=80, deadline=None)
@drawn(tangles())
def test_what_is_likely_and_what_is_locked_agree_with_it(drawn_case):
    """Each fault's own probability, that of a lock by any, and that of the exposure."""
    catalogue, answers = drawn_case
    every = list(outcomes(catalogue, answers))
    total = sum(weight for weight, *_ in every)
    found = judged(catalogue, answers)
    for case in found.joint.cases:
        for each in case.findings:
            there = sum(weight for weight, turned, _ in every if turned[case.check.key] == each.fault.key) / total
            assert each.probability == pytest.approx(there, abs=1e-12)
    salty = sum(weight for weight, _, salt in every if salt) / total
    assert found.joint.exposures["salt"] == pytest.approx(salty, abs=1e-12)
    locked = sum(w for w, turned, _ in every if turned["post"] == "stuck" or turned["clamp"]) / total
    assert found.adjustments[HEIGHT].chance_locked == pytest.approx(locked, abs=1e-12)


def _right(catalogue, answers, keys):
    """The chance of a right decision with these checks known, from the definition."""
    every = list(outcomes(catalogue, answers))
    total = sum(weight for weight, *_ in every)
    sums = {}
    for weight, turned, _ in every:
        bars = turned["post"] == "stuck" or turned["clamp"]
        good = 0.0 if bars else lost(catalogue, turned)[:13].sum()
        known = tuple(turned[key] for key in keys)
        share, reached = sums.get(known, (0.0, 0.0))
        sums[known] = (share + weight / total, reached + weight / total * good)
    return sum(max(good, share - good) for share, good in sums.values())


@settings(max_examples=40, deadline=None)
@drawn(tangles())
def test_what_a_question_is_worth_is_exact(drawn_case):
    """Alone, and three together, with what it opens, spares and tells of the salt; as long as no lock is settled already."""
    catalogue, answers = drawn_case
    answers = {key: option for key, option in answers.items() if option not in {"stuck", "corroded"}}
    found = judged(catalogue, answers)
    now = _right(catalogue, answers, ())
    for question in found.questions:
        assert question.gain == pytest.approx(_right(catalogue, answers, [question.check.key]) - now, abs=1e-12)
    few = deciding(found)
    assert few.right_now == pytest.approx(now, abs=1e-12)
    assert few.right_then == pytest.approx(_right(catalogue, answers, [q.check.key for q in few.questions]), abs=1e-12)


def test_one_corroded_bolt_speaks_for_the_others():
    """Salt that was found on the clamp makes the stem's bolts likelier to be seized, and clean bolts less likely."""
    seized = [
        next(
            f for c in judged(tangled(), answers).joint.cases for f in c.findings if f.key == "stem.seized"
        ).probability
        for answers in ({"clamp": "fine"}, {}, {"clamp": "corroded"})
    ]
    assert seized == sorted(seized)
    assert seized[0] < seized[1] < seized[2]


def test_minutes_of_the_clamp_are_moot_where_the_post_is_stuck():
    """Both are there and hold the height; only the post's minutes are spent, unless it is put right before the session."""
    answers = {"post": "stuck", "clamp": "corroded", "kind": "fine", "stem": "fine", "indoors": "no"}
    alone = judged(tangled(), answers | {"clamp": "fine"}).forecast
    both = judged(tangled(), answers)
    assert both.forecast.pmf == pytest.approx(alone.pmf)
    assert both.finding("clamp.corroded").expected_min == 0
    fixed = judged(tangled(), answers, rulings={"post.stuck": Ruling.FIXED})
    assert fixed.finding("clamp.corroded").expected_min > 20


def test_a_check_that_may_not_be_there_counts_by_its_chance():
    """The stem's faults weigh by the chance of a separate cockpit; an answer to the stem shows that it is there."""
    found = judged(tangled())
    by_key = {each.key: each for case in found.joint.cases for each in case.findings}
    assert by_key["stem.rounded"].probability == pytest.approx(0.9 * 0.1)
    assert by_key["torque.wrong"].probability == pytest.approx(0.1 * 0.3)
    assert "torque" not in {each.key for each in found.asked}
    seen = judged(tangled(), {"stem": "rounded"})
    assert seen.finding("stem.rounded").sure


@pytest.mark.parametrize(
    ("answers", "asked", "misfit"),
    [
        ({"kind": "one_piece", "stem": "seized"}, "torque", ("stem", "not_asked")),
        ({"kind": "fine", "torque": "wrong"}, "stem", ("torque", "not_asked")),
        ({"retired": "yes", "kind": "fine"}, "stem", ("retired", "retired")),
        ({"clamp": "gone"}, "stem", ("clamp", "unreadable")),
    ],
)
def test_contradictory_and_retired_answers_decide_nothing(answers, asked, misfit):
    """What another answer has closed does not count, retired checks and options neither; each is named with what became of it."""
    found = judged(tangled(), answers)
    assert asked in {each.key for each in found.asked}
    assert [(each.check, each.kind.value) for each in found.misfits] == [misfit]
    ignored = {"stem", "torque", "retired"} - {asked}
    without = judged(tangled(), {key: option for key, option in answers.items() if key not in ignored})
    assert found == without


def test_answers_that_no_exposure_allows_leave_it_as_it_was():
    """Everybody indoors is exposed, the rider is not indoors, and yet every bolt is corroded: no error, the check's word stands."""
    salty = tangled(factors=(3.0, 3.0), given=(1.0, 0.0))
    found = judged(salty, {"indoors": "no", "clamp": "corroded", "stem": "seized"})
    assert found.joint.exposures["salt"] == 0
    assert found.finding("clamp.corroded").sure


def test_a_fact_of_the_bike_settles_the_exposure():
    """Known from the bike, nobody needs to be asked."""
    catalogue = tangled()
    given = TriageInput(catalogue, BikeFacts(BikeKind.ROAD, {}), {"indoors": Answer("yes")}, (), SLOT)
    assert triage(given).joint.exposures["salt"] == pytest.approx(0.7)
